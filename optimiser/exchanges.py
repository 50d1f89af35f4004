"""Small changes to a menu: one cook comes in, the cooks it displaces leave."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from optimiser.runs import Run


@dataclass(frozen=True)
class Exchange:
    """`enters` is shown on the days of those that leave, in their course."""

    enters: Run
    leaves: tuple[Run, ...]

    @property
    def guess_cents(self) -> float:
        """What it brings if food cost what recipes cost: to look at likely ones first."""
        return _guess(self.enters) - sum(_guess(run) for run in self.leaves)


def _guess(run: Run) -> float:
    return run.takings_cents - run.waste_cents - run.food_cents + run.appeal_cents


def exchanges(runs: Sequence[Run], menu: Sequence[Run]) -> Iterator[Exchange]:
    """Every way in which one of `runs` can come into the menu."""
    cooks: dict[str, list[Run]] = defaultdict(list)
    for run in menu:
        cooks[run.course].append(run)
    there = {run.index for run in menu}
    for run in runs:
        if run.index not in there:
            for leaves in _displaced(cooks[run.course], frozenset(run.shown)):
                yield Exchange(run, leaves)


def _displaced(cooks: Sequence[Run], days: frozenset[date]) -> Iterator[tuple[Run, ...]]:
    """Sets of cooks that are shown on exactly these days, each day once."""
    if not days:
        yield ()
        return
    first = min(days)
    for run in cooks:
        if first in run.shown and days.issuperset(run.shown):
            for rest in _displaced(cooks, days.difference(run.shown)):
                yield (run, *rest)
