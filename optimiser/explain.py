"""Why no week keeps the rules, and what would be enough.

    conflict(week) -> Conflict: the rules that cannot hold together, no one too many,
    and the least changes after which a week exists, each proven by such a week.
What is always true (slots filled, stock, deliveries, lives) is part of every conflict;
if even that cannot hold, `Conflict.facts` says which course on which day, and why.
"""

from __future__ import annotations

import threading
import time
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from optimiser.deadlines import part_of
from optimiser.elastic import Elastic
from optimiser.exact_repairs import ExactRepairs
from optimiser.giving import Columns
from optimiser.kept_repairs import KeptRepairs
from optimiser.progress import Progress, Report
from optimiser.quick_repairs import QuickRepairs
from optimiser.repair_choice import Repair
from optimiser.repair_words import listed
from optimiser.report_base import money_text
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import WeeklyCap
from optimiser.rules.words import on
from optimiser.shortages import shortages
from optimiser.shortest import conflicting, core
from optimiser.side_by_side import side_by_side
from optimiser.supports import MOST_RULES
from optimiser.week import Week

CORE_SHARE, FIRST_SHARE, HOLDS_SHARE, QUICK_SHARE, CONFLICT_SHARE = 0.3, 0.5, 0.2, 0.8, 0.4
"""Fractions of the time left: for the conflict in fractions; for a first repair meanwhile; for
whether all rules can hold; for repairs of few rules; for leaving out of the conflict what is not
needed."""

FEW = "looking for a week in which few rules give"


@dataclass(frozen=True)
class ConflictPart:
    """A rule of the conflict. `number` is its place in week.rules.

    `days`: those on which it matters; empty where the rule speaks of the whole week.
    """

    number: int
    title: str
    kind: str
    sentence: str
    days: tuple[date, ...]


@dataclass(frozen=True)
class Conflict:
    """What was found out.

    holds: True if the hard rules can hold after all, None if that is still open.
    rules: rules that cannot hold together; each is needed for that if `proven`.
    always: no week exists even without any rule; `facts` say why.
    repairs: changes after which a week exists, cheapest first.
    tried: titles of rules that were let give as well, in weeks where that hardly spared others.
    """

    holds: bool | None
    rules: tuple[ConflictPart, ...] = ()
    always: bool = False
    facts: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    proven: bool = False
    tried: tuple[str, ...] = ()

    def sentences(self) -> list[str]:
        """Lines for the terminal."""
        if self.holds:
            return ["The rules can hold together: a week exists that keeps them all."]
        return [*self._why(), *self._in_vain(), *self._mends()]

    def _why(self) -> list[str]:
        if self.holds is None:
            return [
                "The search ended before it was known whether a week can keep all rules; "
                "give it more seconds."
            ]
        if self.always:
            return ["No week exists, whatever the rules:", *(f"  - {fact}" for fact in self.facts)]
        one = len(self.rules) == 1
        lines = ["No week keeps this rule:" if one else "No week keeps these rules together:"]
        for part in self.rules:
            days = f" ({listed([on(day) for day in part.days])})" if part.days else ""
            lines.append(f"  - {part.title}: {part.sentence}{days}")
        if not self.proven:
            lines.append("The search ended early: perhaps not all of these rules matter.")
        elif not one:
            lines.append("If any one of them gives, the others can hold.")
        numbers = {part.number for part in self.rules}
        if any(change.number not in numbers for r in self.repairs for change in r.changes):
            lines.append("Other rules are tight or clash as well; the changes are enough for all.")
        return lines

    def _in_vain(self) -> list[str]:
        if not self.tried or not self.repairs:
            return []
        return [f"Tried as well, but it hardly spares others if these give: {listed(self.tried)}."]

    def _mends(self) -> list[str]:
        if not self.repairs:
            return ["No change was found in the time given that makes a week possible."]
        least = self.repairs[0].least
        head = "One of these changes is enough, the smallest first:"
        if not least:
            head = "One of these changes is enough (the search ended early: perhaps less is):"
        return [head, *(f"  {n}. {_priced(r)}" for n, r in enumerate(self.repairs, 1))]


def conflict(
    week: Week,
    seconds: float = 20.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
) -> Conflict:
    """Explain why `week` has no plan, within about `seconds` after building the model.

    `stop` ends it at the next chance; what was found until then is kept.
    """
    return _Explained(week, seconds, report, stop).conflict()


class _Explained:
    """One explanation on the way."""

    def __init__(
        self, week: Week, seconds: float, report: Report | None, stop: threading.Event | None
    ) -> None:
        self.week, self._report = week, report
        self.elastic = Elastic(week, stop)
        self._started = time.monotonic()
        self._until = self._started + seconds
        self.repairs = KeptRepairs(self.elastic, self._tell_repair)
        self._quick = QuickRepairs(self.repairs, self.elastic.places)
        self._exact = ExactRepairs(self.repairs)
        self._count = 0

    def conflict(self) -> Conflict:
        """The rules that cannot hold together, and what would help."""
        known = self._core()
        if known is not None and not known:
            return self._always()
        if known is None:
            return self._open()
        self._say(FEW)
        self._quick.of_suspects(self._suspects(known), part_of(self._until, QUICK_SHARE))
        return self._clash(known)

    def _core(self) -> Columns | None:
        """Rows that clash even in fractions; beside that a week in which those rules give that
        give least then: perhaps more than need."""
        self._say("looking for rules that clash")
        elastic, found = self.elastic, list[Columns | None]()
        least = elastic.in_fractions(elastic.places, part_of(self._until, CORE_SHARE))
        parts = elastic.parts_of(least.broken) if least is not None else frozenset()

        def ask() -> None:
            found.append(core(elastic, part_of(self._until, CORE_SHARE)))

        def choose() -> None:
            self._quick.of_parts(parts, part_of(self._until, FIRST_SHARE))

        jobs = [ask, choose] if 0 < len(parts) <= MOST_RULES else [ask]
        side_by_side(jobs, enough=lambda: False)
        return found[0]

    def _open(self) -> Conflict:
        """It is not known which rules clash, nor whether any do."""
        self._say(FEW)
        elastic, firm = self.elastic, self.elastic.places | self.elastic.rule_columns

        def ask() -> None:
            elastic.holds(firm, part_of(self._until, HOLDS_SHARE))

        self._quick.of_tightest(ask, lambda: elastic.known(firm) is not None, self._until)
        holds = elastic.known(firm)
        if holds:
            return Conflict(holds=True, proven=True)
        if holds is None:
            return Conflict(None, repairs=self.repairs.found(), tried=self._tried())
        return self._clash(None)

    def _clash(self, known: Columns | None) -> Conflict:
        """The rules clash. `known`: rows known not to hold together, if any are."""
        self._say("leaving out rules that do not matter")
        rows, proven = conflicting(self.elastic, known, part_of(self._until, CONFLICT_SHARE))
        if not rows:
            return self._always()
        suspects = self._suspects(rows)
        if known is None:
            self._say(FEW)
            self._quick.of_suspects(suspects, part_of(self._until, QUICK_SHARE))
        self._say("looking for the least that would help")
        self._exact.look_for(suspects, self.elastic.places, self._until)
        if not self.repairs.found():
            self._exact.look_for([], frozenset(), self._until)
        self._quick.improve(self._until)
        parts = _parts(self.elastic, rows)
        repairs = self.repairs.found()
        return Conflict(False, parts, False, (), repairs, proven, self._tried())

    def _tried(self) -> tuple[str, ...]:
        """Rules that gave in vain, where fewer repairs were found than are wanted."""
        if self.repairs.enough():
            return ()
        parts = self.elastic.parts
        used = {number for repair in self.repairs.found() for number in repair.rules}
        tried = [parts[part] for part in sorted(self._quick.tried)]
        return tuple(dict.fromkeys(p.rule.title for p in tried if p.number not in used))

    def _always(self) -> Conflict:
        """No week even without rules: places stay empty."""
        found = shortages(self.week, part_of(self._until, CONFLICT_SHARE), self.elastic.stop)
        self._exact.look_for([], frozenset(), self._until)
        return Conflict(False, (), True, found.facts, self.repairs.found(), found.proven)

    def _suspects(self, rows: Columns) -> list[int]:
        return sorted(self.elastic.parts_of(rows))

    def _tell_repair(self, repair: Repair) -> None:
        self._count += 1
        self._say(f"changes that would help: {self._count} found")

    def _say(self, doing: str) -> None:
        if self._report is not None:
            self._report(Progress(time.monotonic() - self._started, doing, None, None))


def _priced(repair: Repair) -> str:
    """A repair, and what the week that was found with it makes."""
    money = money_text(repair.plan.objective_cents, repair.plan.currency)
    return f"{repair.sentence()} (with it a week of {money} was found)"


def _parts(elastic: Elastic, rows: Columns) -> tuple[ConflictPart, ...]:
    """The rules that rows belong to, with the days of those rows."""
    days: dict[int, set[date]] = defaultdict(set)
    for column in rows:
        give = elastic.gives[column]
        days[give.part] |= _days_of(elastic, give.part, give.day)
    return tuple(
        ConflictPart(
            elastic.parts[part].number,
            elastic.parts[part].rule.title,
            elastic.parts[part].rule.kind,
            elastic.parts[part].rule.describe(elastic.week.cafe),
            tuple(sorted(days[part])),
        )
        for part in sorted(days)
    )


def _days_of(elastic: Elastic, part: int, day: date | None) -> set[date]:
    """Open days that a row speaks of: its own, or those of the window that it opens."""
    rule = elastic.parts[part].rule
    if day is None or isinstance(rule, WeeklyCap):
        return set()
    if not isinstance(rule, Spacing):
        return {day}
    end = day + timedelta(days=rule.gap_days)
    return {other for other in elastic.week.open_dates if day <= other < end}


