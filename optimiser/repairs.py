"""The cheapest ways out of an impossible week, each shown by a week that the verifier passed.

A repair is the set of rules that give in a found week. First, weeks done in fractions say
which few rules may be enough, and a real week is chosen day by day for each (`quick`). Then
the cheapest of all is looked for (`exact`), and the next one with one giving rule of an
earlier one held firm, each in turn (a hitting-set tree), first rule by rule, so that
choices differ, then by day or dish.
"""

from __future__ import annotations

import heapq
import time
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from itertools import count

from optimiser.accounts import with_rules
from optimiser.deadlines import part_of
from optimiser.elastic import GAP_PCT, SLOTS, Elastic
from optimiser.extract import extract
from optimiser.giving import Columns, Give, Mend
from optimiser.giving_week import GivingWeek, as_start, giving_week
from optimiser.plan import Breach, Plan
from optimiser.repair_choice import Atom, Atoms, Found, Repair, chosen
from optimiser.repair_words import Change, changes_of, grouped
from optimiser.rule_loosen import loosened
from optimiser.rules.base import Rule
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import WeeklyCap
from optimiser.rules.words import dish_word
from optimiser.solver import Values
from optimiser.supports import MOST_RULES, Parts, Support, supports
from optimiser.verify import ask_rules, verify
from optimiser.week import Week

LEAST_PATIENCE = 1 / 3
"""Fraction of the time left for one suspect, however many there are."""

SUPPORTS_SHARE, WEEKS_SHARE, WEEK_PATIENCE, TRADE_SHARE, IMPROVE_SHARE = 0.3, 0.7, 0.5, 0.9, 0.5
"""Fractions of the time left: for weeks in fractions; for choosing weeks; for one of them at
least; for others made from one; for making all better before the cheapest is looked for."""

WEEK_SECONDS = 5.0
"""At least so long is spent on one week if there is time: less is often too short for any."""

MOST_TRADES = 6
"""So many other rules are tried to spare those that give."""

UNASKED_CENTS = 1e-6
"""Price of a rule that gives without a number of its own: it is still counted, for nothing."""

Told = Callable[[Repair], None]


class Repairs:
    """A search for repairs, each told to `report` as soon as its week is verified."""

    def __init__(self, elastic: Elastic, report: Told, want: int = 3) -> None:
        self.elastic, self.want = elastic, want
        self._report = report
        self._until = 0.0
        self._looked: dict[Columns, Mend | None] = {}
        self._found: dict[Atoms, Found] = {}
        self._mends: list[Mend] = []
        self._weeks: list[GivingWeek] = []
        self._least_pct: float | None = None

    def found(self) -> tuple[Repair, ...]:
        """Cheapest first; see `repair_choice.chosen`."""
        least_pct = -1.0 if self._least_pct is None else self._least_pct + 2 * GAP_PCT
        return chosen(self._found, least_pct, self.want)

    def quick(self, suspects: Iterable[int], firm: Columns, until: float) -> None:
        """Repairs of few rules. `suspects`: parts of which one has to give; `firm`: columns
        that may never give.

        Once one is found, others come from it: another rule gives to spare those that do.
        """
        asked = supports(self.elastic, suspects, firm, part_of(until, SUPPORTS_SHARE), self.want)
        self._choose_each(asked, firm, part_of(until, WEEKS_SHARE))
        if not self._found and len(asked) > 1:
            self._choose(frozenset().union(*(one.parts for one in asked)), firm, until)
        if self._weeks:
            self._trade(firm, part_of(until, TRADE_SHARE))
        self._improve(part_of(until, IMPROVE_SHARE))

    def _choose_each(self, sets: list[Support], firm: Columns, until: float) -> None:
        """First a few seconds for each; only if no week is found so, as long as it takes.

        Of sets of which fractions say nothing one week is enough.
        """
        for left, one in zip(range(len(sets), 0, -1), sets, strict=True):
            says = one.pct > GAP_PCT
            if len(self._found) < (self.want if says else 1):
                soon = time.monotonic() + WEEK_SECONDS
                soon = max(soon, part_of(until, 1 / left)) if says else soon
                self._choose(one.parts, firm, min(until, soon))
        for one in sets:
            if not self._found:
                self._choose(one.parts, firm, part_of(until, WEEK_PATIENCE))

    def _choose(
        self, parts: Parts, firm: Columns, until: float, spared: Parts = frozenset()
    ) -> None:
        """A week in which these parts give, those spared as little as can be."""
        columns = self.elastic.of_parts(parts | spared) - firm
        week = giving_week(self.elastic, columns, until, spared)
        if week is not None and self._take(week.mend()):
            self._weeks.append(week)

    def _trade(self, firm: Columns, until: float) -> None:
        """Weeks in which one more rule gives to spare those that do, tightest first."""
        given = min((week.mend() for week in self._weeks), key=lambda mend: mend.pct).broken
        spared = self.elastic.parts_of(given)
        others = self.elastic.tightest(until, given)[:MOST_TRADES]
        for left, part in zip(range(len(others), 0, -1), others, strict=True):
            if len(self.found()) >= self.want or self.elastic.over(until):
                return
            soon = max(part_of(until, 1 / left), time.monotonic() + WEEK_SECONDS)
            self._choose(frozenset([part]), firm, min(until, soon), spared)

    def exact(self, suspects: Iterable[int], firm: Columns, until: float) -> None:
        """The cheapest of all, proven if time allows, and others.

        Letting one suspect give is the quicker question; then any rules may; and where
        that is too little, places in the cabinet. Time that is left makes weeks better.
        """
        self._until = until
        alone = [firm | (self.elastic.gives.keys() - self.elastic.of_parts([p])) for p in suspects]
        for left, here in zip(range(len(alone), 0, -1), alone, strict=True):
            self._look(here, max(1 / (left + 1), LEAST_PATIENCE), self._start(here))
        mend = self._look(firm, start=self._start(firm))
        if mend is not None and mend.least:
            self._least_pct = mend.pct
        self._tree([firm], lambda give: (give.part, ""))
        self._tree([firm, *alone], lambda give: _fine_atom(self.elastic, give))
        if len(self.found()) < self.want:
            self._look(self.elastic.rule_columns)
        self._improve(until)

    def _improve(self, until: float) -> None:
        """Make the weeks of few rules better, each for its part of the time."""
        for left, week in zip(range(len(self._weeks), 0, -1), self._weeks, strict=True):
            if week.improve(part_of(until, 1 / left)):
                self._take(week.mend())

    def _start(self, firm: Columns) -> Values | None:
        """The cheapest week known in which none of these gives."""
        fit = [mend for mend in self._mends if mend.broken.isdisjoint(firm)]
        best = min(fit, key=lambda mend: mend.pct, default=None)
        return None if best is None else as_start(self.elastic, best)

    def _look(
        self, firm: Columns, patience: float = 0.5, start: Values | None = None
    ) -> Mend | None:
        """The cheapest week with these columns firm; verified, it becomes a repair.

        `patience`: fraction of the time left to spend on it.
        """
        if firm in self._looked:
            return self._looked[firm]
        mend = self.elastic.cheapest(firm, part_of(self._until, patience), start)
        self._looked[firm] = mend
        if mend is not None:
            self._take(mend)
        return mend

    def _take(self, mend: Mend) -> bool:
        """Keep the repair if it is new or cheaper, and passes; whether it passed."""
        atoms = frozenset(_fine_atom(self.elastic, self.elastic.gives[c]) for c in mend.broken)
        old = self._found.get(atoms)
        if old is not None and mend.pct > old.repair.given_up_pct + GAP_PCT:
            return True
        repair = self._verified(mend)
        if repair is None:
            return False
        if old is not None and mend.pct > old.repair.given_up_pct - GAP_PCT:
            if repair.plan.objective_cents <= old.repair.plan.objective_cents:
                return True
        self._mends.append(mend)
        self._found[atoms] = Found(repair, self._by_part(mend))
        self._report(repair)
        return True

    def _by_part(self, mend: Mend) -> dict[int, float]:
        """How much each part of a rule gives up."""
        by_part: dict[int, float] = defaultdict(float)
        for column, pct in mend.pct_of.items():
            by_part[self.elastic.gives[column].part] += pct
        return by_part

    def _tree(self, roots: list[Columns], atom_of: Callable[[Give], Atom]) -> None:
        """Hold firm one atom of each found repair after the other, cheapest repair first."""
        columns_of: dict[Atom, set[int]] = defaultdict(set)
        for column, give in self.elastic.gives.items():
            columns_of[atom_of(give)].add(column)
        order = count()
        queue = [(0.0, next(order), firm) for firm in roots]
        seen = set(roots)
        while queue and len(self.found()) < self.want and not self.elastic.over(self._until):
            _, _, here = heapq.heappop(queue)
            mend = self._look(here)
            if mend is None:
                continue
            if not mend.least and len(self.elastic.parts_of(mend.broken)) > MOST_RULES:
                return  # too large a week for this: neither cheapest nor what one would read
            for atom in sorted({atom_of(self.elastic.gives[c]) for c in mend.broken}):
                child = here | columns_of[atom]
                if child not in seen and not self.elastic.impossible(child):
                    seen.add(child)
                    heapq.heappush(queue, (mend.pct, next(order), child))

    def _verified(self, mend: Mend) -> Repair | None:
        """The repair, if an independent check finds nothing wrong with its week under the
        rules as they are then."""
        elastic = self.elastic
        plan = extract(mend.model, mend.values)
        then = rules_then(elastic.original, plan)
        answers = ask_rules(plan, then)
        plan = with_rules(plan, answers.results, answers.price_cents)
        empty = {
            (give.item, give.day): round(mend.values[c])
            for c in mend.broken & elastic.places
            for give in [elastic.gives[c]]
        }
        if any(not _expected(breach, empty) for breach in verify(plan, then).breaches):
            return None
        changes = [_fewer_places(elastic, give, mend) for give in _empty(elastic, mend)]
        for part in elastic.parts:
            changes += changes_of(part.number, part.rule, plan, elastic.week)
        return Repair(tuple(changes), mend.pct, False, plan)


def rules_then(week: Week, plan: Plan) -> Week:
    """The week with each hard rule that `plan` breaks loosened as far as it needs."""

    def then(rule: Rule) -> Rule:
        if rule.price_cents is not None or not rule.check(plan, week.cafe):
            return rule
        given = loosened(rule, plan, week.cafe)
        return given or rule.model_copy(update={"price_cents": UNASKED_CENTS})

    return replace(week, rules=tuple(then(rule) for rule in week.rules))


def _fine_atom(elastic: Elastic, give: Give) -> Atom:
    """A dish of a rule that looks across days, else a day, else an item."""
    if give.part == SLOTS:
        return give.part, f"{give.item} {give.day}"
    across = isinstance(elastic.parts[give.part].rule, Spacing | WeeklyCap)
    return give.part, give.item if across or give.day is None else give.day.isoformat()


def _expected(breach: Breach, empty: dict[tuple[str, date | None], int]) -> bool:
    """Whether the verifier only says that a place stays empty which we left empty."""
    return breach.rule == "menu" and empty.get((breach.item or "", breach.day)) == breach.amount


def _empty(elastic: Elastic, mend: Mend) -> list[Give]:
    return [elastic.gives[c] for c in sorted(mend.broken & elastic.places)]


def _fewer_places(elastic: Elastic, give: Give, mend: Mend) -> Change:
    slots = elastic.week.cafe.courses[give.item].slots
    filled = slots - round(mend.values[give.column])
    phrase = f"{filled} {dish_word(give.item, filled)} instead of {slots}"
    return grouped(None, "slots", "Places in the cabinet", [(phrase, give.day)])[0]
