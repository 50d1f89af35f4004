"""Repairs by few rules, within seconds: a real week chosen day by day for each set of rules.

Weeks done in fractions say which few rules may be enough; where they say nothing, the rules
that would earn most by giving are asked together, then one by one. Two weeks are chosen at a
time.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import partial

from optimiser.deadlines import part_of
from optimiser.elastic import GAP_PCT, Elastic
from optimiser.giving import Columns
from optimiser.giving_week import GivingWeek, giving_week
from optimiser.kept_repairs import KeptRepairs
from optimiser.side_by_side import WORKERS, side_by_side
from optimiser.supports import Parts, Support, supports

SUPPORTS_SHARE, WEEKS_SHARE, WEEK_PATIENCE, TRADE_SHARE, IMPROVE_SHARE = 0.3, 0.7, 0.5, 0.9, 0.5
"""Fractions of the time left: for weeks in fractions; for choosing weeks; for one of them at
least; for others made from one; for making all better before the cheapest is looked for."""

WEEK_SECONDS = 6.0
"""At least so long is spent on one week if there is time: less is often too short for any."""

TOGETHER = (3, 2)
"""So many of the tightest rules give at once where it is not known which clash. Alone the
tightest may not be enough, which takes long to find out; of more, more give than need."""

SPARING_SECONDS = 4.0
"""At most so long is spent on one week made from another."""

MOST_TRADES = 6
"""So many other rules are tried to spare those that give."""


class QuickRepairs:
    """A search for repairs of few rules, kept in `kept`.

    `firm`: columns of breach that may never give; `tried`: parts that gave to spare others in
    a week that was found, whether that helped or not.
    """

    def __init__(self, kept: KeptRepairs, firm: Columns) -> None:
        self.kept, self.firm = kept, firm
        self.elastic: Elastic = kept.elastic
        self.tried: set[int] = set()
        self._weeks: list[GivingWeek] = []
        self._chosen: set[tuple[Parts, Parts]] = set()

    def of_suspects(self, suspects: Iterable[int], until: float) -> None:
        """`suspects`: parts of which one has to give.

        Once a repair is found, others come from it: another rule gives to spare those that do.
        """
        supports_until = part_of(until, SUPPORTS_SHARE)
        asked = supports(self.elastic, suspects, self.firm, supports_until, self.kept.want)
        self._choose_each(asked, part_of(until, WEEKS_SHARE))
        if not self.kept.found() and len(asked) > 1:
            self._choose(frozenset().union(*(one.parts for one in asked)), until)
        self._others(until)

    def of_parts(self, parts: Parts, until: float) -> None:
        """A week in which just these may give."""
        self._choose(parts, until)

    def of_tightest(
        self, meanwhile: Callable[[], object], known: Callable[[], bool], until: float
    ) -> None:
        """Where it is not known what clashes: a few rules that earn most by giving, together.

        Then fewer of them, and others in their place. `meanwhile` is worked on
        beside the first weeks; once `known`, no more are begun.
        """
        tight = self.elastic.tightest(part_of(until, SUPPORTS_SHARE))
        together = self._jobs([frozenset(tight[:n]) for n in TOGETHER], part_of(until, WEEKS_SHARE))
        side_by_side([meanwhile, *together], lambda: known() or bool(self._weeks))
        if not known():
            self._others(until)

    def _giving(self) -> list[int]:
        """The parts that give in the cheapest week so far, those that give most first."""
        by_part: dict[int, float] = defaultdict(float)
        for column, pct in self._cheapest().mend().pct_of.items():
            by_part[self.elastic.gives[column].part] += pct
        return sorted(by_part, key=lambda part: (-by_part[part], part))

    def improve(self, until: float) -> None:
        """Make the weeks better, each for its part of the time."""
        jobs = [
            partial(self._improve, week, self._soon(until, left, least_seconds=0.0))
            for left, week in zip(range(len(self._weeks), 0, -1), self._weeks, strict=True)
        ]
        side_by_side(jobs, lambda: self.elastic.over(until))

    def _improve(self, week: GivingWeek, soon: Callable[[], float]) -> None:
        if week.improve(soon()):
            self.kept.take(week.mend())

    def _others(self, until: float) -> None:
        """More weeks from the one that gives least: in which those rules give less, or fewer."""
        if self._weeks:
            soon = part_of(until, TRADE_SHARE)
            jobs = [*self._sheds(soon), *self._trades(soon)]
            side_by_side(jobs, lambda: self.kept.enough() or self.elastic.over(soon))
        self.improve(part_of(until, IMPROVE_SHARE))

    def _cheapest(self) -> GivingWeek:
        return min(self._weeks, key=lambda week: week.mend().pct)

    def _sheds(self, until: float) -> list[Callable[[], None]]:
        """The same week in which the rule that gives most spares the others, and another where
        it gives alone."""
        giving = self._giving()
        if len(giving) < 2:
            return []
        alone = self._jobs([frozenset(giving[:1])], until)
        return [partial(self._shed, self._cheapest(), frozenset(giving[1:]), until), *alone]

    def _shed(self, week: GivingWeek, parts: Parts, until: float) -> None:
        soon = min(until, time.monotonic() + SPARING_SECONDS)
        self._keep(week.sparing(parts, soon))

    def _choose_each(self, sets: list[Support], until: float) -> None:
        """First a few seconds for each; only if no week is found so, as long as it takes.

        Of sets of which fractions say nothing one week is enough.
        """
        says = [one.parts for one in sets if one.pct > GAP_PCT]
        side_by_side(self._jobs(says, until), self.kept.enough)
        silent = [one.parts for one in sets if one.pct <= GAP_PCT]
        side_by_side(self._jobs(silent, until), lambda: bool(self.kept.found()))
        for one in sets:
            if not self.kept.found():
                self._choose(one.parts, part_of(until, WEEK_PATIENCE))

    def _trades(self, until: float) -> list[Callable[[], None]]:
        """Weeks in which one more rule gives to spare those that do, tightest first."""
        spared = frozenset(self._giving())
        others = self.elastic.tightest(until, self.elastic.of_parts(spared))[:MOST_TRADES]
        return self._jobs([frozenset([part]) for part in others], until, spared)

    def _jobs(
        self, sets: Sequence[Parts], until: float, spared: Parts = frozenset()
    ) -> list[Callable[[], None]]:
        """The choice of a week for each set, as work to be done within its part of the time."""
        return [
            partial(self._choose_soon, parts, self._soon(until, left), spared)
            for left, parts in zip(range(len(sets), 0, -1), sets, strict=True)
        ]

    def _soon(
        self, until: float, left: int, least_seconds: float = WEEK_SECONDS
    ) -> Callable[[], float]:
        """When a job has to end that is begun now, with so many left."""

        def at() -> float:
            share = min(1.0, WORKERS / left)
            return min(until, max(part_of(until, share), time.monotonic() + least_seconds))

        return at

    def _choose_soon(self, parts: Parts, soon: Callable[[], float], spared: Parts) -> None:
        self._choose(parts, soon(), spared)

    def _choose(self, parts: Parts, until: float, spared: Parts = frozenset()) -> None:
        """A week in which these parts give, those spared as little as can be."""
        if (parts, spared) in self._chosen:
            return
        columns = self.elastic.of_parts(parts | spared) - self.firm
        week = giving_week(self.elastic, columns, until, spared)
        if week is not None:
            self._chosen.add((parts, spared))
            self.tried |= parts if spared else frozenset()
            self._keep(week)

    def _keep(self, week: GivingWeek) -> None:
        """A repair, unless nothing gives at all."""
        mend = week.mend()
        if mend.broken and self.kept.take(mend):
            self._weeks.append(week)
