"""Which rules may have to give, fewest first: asked of weeks done in fractions.

Such a question takes a fraction of a second, so many sets of rules can be tried. It says no
more than what a real week gives up at least; the real one is then chosen (`giving_week.py`).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import count

from optimiser.elastic import GAP_PCT, Elastic
from optimiser.giving import Columns, Fractions

MOST_RULES = 4
"""Of more rules together a chef would not read."""

MOST_SETS = 12

Parts = frozenset[int]


@dataclass(frozen=True)
class Support:
    """Parts that may be enough if they give; `pct`: what they give up at least."""

    parts: Parts
    pct: float


def supports(
    elastic: Elastic, suspects: Iterable[int], firm: Columns, until: float, want: int
) -> list[Support]:
    """Sets of parts, those of fewest parts first, then those that give up least; those of
    which weeks in fractions say nothing last, in the order of the suspects.

    `suspects`: one of them has to give. Each alone is asked first; only if fewer than
    `want` may be enough alone, sets are looked for.
    """
    found: dict[Parts, Support] = {}
    for part in suspects:
        one = _giving(elastic, frozenset([part]), firm, until)
        if one is not None:
            found[one.parts] = one
    if len(found) < want:
        _sets(elastic, found, firm, until, want)
    minimal = [one for one in found.values() if not any(two < one.parts for two in found)]
    return sorted(minimal, key=lambda one: (len(one.parts), one.pct < GAP_PCT, one.pct))


def _sets(
    elastic: Elastic, found: dict[Parts, Support], firm: Columns, until: float, want: int
) -> None:
    """Add sets: each of the parts of one held firm leads to others (a hitting-set tree)."""
    order = count()
    queue: list[tuple[float, int, Parts]] = [(0.0, next(order), frozenset())]
    seen: set[Parts] = {frozenset()}
    while queue and len(found) < want + 1 and len(seen) < MOST_SETS and not elastic.over(until):
        _, _, held = heapq.heappop(queue)
        here = elastic.in_fractions(firm | elastic.of_parts(held), until)
        if here is None or not here.broken:
            continue
        one = _fewest(elastic, here, firm, until)
        if len(one.parts) <= MOST_RULES:
            found.setdefault(one.parts, one)
        for part in sorted(one.parts):
            child = held | {part}
            if child not in seen:
                seen.add(child)
                heapq.heappush(queue, (here.pct, next(order), child))


def _fewest(elastic: Elastic, here: Fractions, firm: Columns, until: float) -> Support:
    """Leave out one part after the other where the rest is enough."""
    best = Support(elastic.parts_of(here.broken), here.pct)
    for part in sorted(best.parts):
        if part in best.parts and len(best.parts) > 1:
            best = _giving(elastic, best.parts - {part}, firm, until) or best
    return best


def _giving(elastic: Elastic, parts: Parts, firm: Columns, until: float) -> Support | None:
    """What these parts give up where no others may; None if that is not enough, or not known.

    Of several parts only those that give are kept.
    """
    others = elastic.gives.keys() - elastic.of_parts(parts)
    solved = elastic.in_fractions(firm | others, until)
    if solved is None:
        return None
    return Support(elastic.parts_of(solved.broken) or parts, solved.pct)
