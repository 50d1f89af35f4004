"""The repairs found so far: each a week that the verifier passed under the changed rules."""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from datetime import date

from optimiser.accounts import with_rules
from optimiser.elastic import GAP_PCT, SLOTS, Elastic
from optimiser.extract import extract
from optimiser.giving import Columns, Give, Mend
from optimiser.giving_week import as_start
from optimiser.plan import Breach, Plan
from optimiser.repair_choice import Atom, Atoms, Found, Repair, chosen
from optimiser.repair_words import Change, changes_of, grouped
from optimiser.rule_loosen import loosened
from optimiser.rules.base import Rule
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import WeeklyCap
from optimiser.rules.words import dish_word
from optimiser.solver import Values
from optimiser.verify import ask_rules, verify
from optimiser.week import Week

UNASKED_CENTS = 1e-6
"""Price of a rule that gives without a number of its own: it is still counted, for nothing."""

Told = Callable[[Repair], None]


class KeptRepairs:
    """Repairs by what gives, each told to `report` as soon as its week is verified.

    Weeks may be handed in by several threads.
    """

    def __init__(self, elastic: Elastic, report: Told, want: int = 3) -> None:
        self.elastic, self.want = elastic, want
        self.least_pct: float | None = None
        """Proven that no repair gives up less, if known."""
        self._report = report
        self._found: dict[Atoms, Found] = {}
        self._mends: list[Mend] = []
        self._lock = threading.Lock()

    def found(self) -> tuple[Repair, ...]:
        """Cheapest first; see `repair_choice.chosen`."""
        least_pct = -1.0 if self.least_pct is None else self.least_pct + 2 * GAP_PCT
        with self._lock:
            return chosen(self._found, least_pct, self.want)

    def enough(self) -> bool:
        """Whether as many are known as are wanted."""
        return len(self.found()) >= self.want

    def take(self, mend: Mend) -> bool:
        """Keep the repair if it is new or cheaper, and passes; whether it passed.

        One that empties most of the cabinet is no help, unless it is proven that less will not do.
        """
        if not mend.least and self._mostly_empty(mend):
            return False
        with self._lock:
            return self._take(mend)

    def _mostly_empty(self, mend: Mend) -> bool:
        places = [self.elastic.gives[column] for column in self.elastic.places]
        empty = sum(mend.values[give.column] for give in places if give.column in mend.broken)
        return empty > sum(give.high for give in places) / 2

    def _take(self, mend: Mend) -> bool:
        atoms = frozenset(fine_atom(self.elastic, self.elastic.gives[c]) for c in mend.broken)
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

    def start(self, firm: Columns) -> Values | None:
        """The cheapest week known in which none of these gives."""
        fit = [mend for mend in self._mends if mend.broken.isdisjoint(firm)]
        best = min(fit, key=lambda mend: mend.pct, default=None)
        return None if best is None else as_start(self.elastic, best)

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


def fine_atom(elastic: Elastic, give: Give) -> Atom:
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
