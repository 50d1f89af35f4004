"""Which lot serves which cook: first listed, first used, as far as lives allow.

A maximum flow on a small graph, pushed source by source in the order given, so
that earlier sources are used as much as any complete allocation can use them.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from datetime import date

TINY_G = 1e-6


@dataclass(frozen=True)
class Supply:
    """Grams of one lot, there from `first` to `last`. `due`: to be used, not kept."""

    lot: str
    first: date
    last: date
    grams: float
    due: bool = False


@dataclass(frozen=True)
class Demand:
    """Grams taken on `day` for something that must stay good until `until`."""

    dish: str
    day: date
    until: date
    grams: float


Flow = dict[tuple[int, int], float]
"""(supply number, demand number) -> grams."""


def allocate(supplies: list[Supply], demands: list[Demand], after: date) -> Flow:
    """Serve as much demand as possible; earlier supplies are preferred.

    Then, without serving less, lots that spoil take over from lots still good on
    the day `after`, so that as little as possible is binned. What is due stays used.
    """
    kept = Demand("", after, after, math.inf)
    every = [*demands, kept]
    fits = [
        [
            j
            for j, d in enumerate(every)
            if s.first <= d.day and d.until <= s.last and not (s.due and d is kept)
        ]
        for s in supplies
    ]
    flow: Flow = {}
    spare = [supply.grams for supply in supplies]
    short = [demand.grams for demand in demands] + [0.0]
    _fill(flow, fits, spare, short)
    short[-1] = math.inf
    _fill(flow, fits, spare, short)
    return {
        pair: grams
        for pair, grams in flow.items()
        if grams > TINY_G and pair[1] < len(demands)
    }


def _fill(flow: Flow, fits: list[list[int]], spare: list[float], short: list[float]) -> None:
    """Push each supply's spare grams along augmenting paths."""
    for source in range(len(fits)):
        while spare[source] > TINY_G:
            path = _path(source, fits, flow, short)
            if not path:
                break
            amount = min(spare[source], short[path[-1][1]], *_reroutable(path, flow))
            _push(path, flow, amount)
            spare[source] -= amount
            short[path[-1][1]] -= amount


Path = list[tuple[int, int]]
"""Edges (supply, demand) to fill; between two of them the later supply gives up
its flow into the earlier edge's demand."""


def _path(source: int, fits: list[list[int]], flow: Flow, short: list[float]) -> Path:
    """Shortest way from a supply to a demand that is still short, rerouting others."""
    came: dict[int, Path] = {source: []}
    queue = deque([source])
    seen: set[int] = set()
    while queue:
        supply = queue.popleft()
        for demand in fits[supply]:
            if demand in seen:
                continue
            seen.add(demand)
            path = [*came[supply], (supply, demand)]
            if short[demand] > TINY_G:
                return path
            for (other, served), grams in flow.items():
                if served == demand and grams > TINY_G and other not in came:
                    came[other] = path
                    queue.append(other)
    return []


def _reroutable(path: Path, flow: Flow) -> list[float]:
    """Grams that each rerouted supply can give up."""
    return [
        flow[later[0], earlier[1]] for earlier, later in zip(path, path[1:], strict=False)
    ]


def _push(path: Path, flow: Flow, amount: float) -> None:
    for n, edge in enumerate(path):
        flow[edge] = flow.get(edge, 0.0) + amount
        if n + 1 < len(path):
            flow[path[n + 1][0], edge[1]] -= amount
