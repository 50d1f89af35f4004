"""Why no week keeps the rules, and what would be enough.

    conflict(week) -> Conflict: the rules that cannot hold together, no one too many,
    and the least changes after which a week exists, each proven by such a week.
What is always true (slots filled, stock, deliveries, lives) is part of every conflict;
if even that cannot hold, `Conflict.facts` says which course on which day, and why.
"""

from __future__ import annotations

import time
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from optimiser.elastic import Columns, Elastic
from optimiser.repair_words import listed
from optimiser.repairs import Repair, find_repairs
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import WeeklyCap
from optimiser.rules.words import on
from optimiser.shortages import shortages
from optimiser.shortest import conflicting
from optimiser.week import Week

CONFLICT_SHARE = 0.5
"""Fraction of the time for the conflict; the rest is for repairs."""


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
    """

    holds: bool | None
    rules: tuple[ConflictPart, ...] = ()
    always: bool = False
    facts: tuple[str, ...] = ()
    repairs: tuple[Repair, ...] = ()
    proven: bool = False

    def sentences(self) -> list[str]:
        """Lines for the terminal."""
        if self.holds:
            return ["The rules can hold together: a week exists that keeps them all."]
        return [*self._why(), *self._mends()]

    def _why(self) -> list[str]:
        if self.holds is None:
            return [
                "Time ran out before it was known whether a week can keep all rules; "
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
            lines.append("Time ran out: perhaps not all of these rules matter.")
        elif not one:
            lines.append("If any one of them gives, the others can hold.")
        numbers = {part.number for part in self.rules}
        if any(change.number not in numbers for r in self.repairs for change in r.changes):
            lines.append("Other rules are tight or clash as well; the changes are enough for all.")
        return lines

    def _mends(self) -> list[str]:
        if not self.repairs:
            return ["No change was found in the time given that makes a week possible."]
        least = self.repairs[0].least
        head = "One of these changes is enough, the smallest first:"
        if not least:
            head = "One of these changes is enough (time ran out: there may be smaller ones):"
        return [head, *(f"  {n}. {r.sentence()}" for n, r in enumerate(self.repairs, 1))]


def conflict(week: Week, seconds: float = 20.0) -> Conflict:
    """Explain why `week` has no plan, within about `seconds` after building the model."""
    elastic = Elastic(week)
    started = time.monotonic()
    until, conflict_until = started + seconds, started + seconds * CONFLICT_SHARE
    holds = elastic.holds(elastic.places | elastic.rule_columns, conflict_until)
    if holds:
        return Conflict(holds=True, proven=True)
    if holds is None:
        return Conflict(None, repairs=find_repairs(elastic, (), elastic.places, until))
    rows, proven = conflicting(elastic, conflict_until)
    if not rows:
        found = shortages(week, (time.monotonic() + until) / 2)
        repairs = find_repairs(elastic, (), frozenset(), until)
        return Conflict(False, (), True, found.facts, repairs, found.proven)
    suspects = sorted({elastic.gives[column].part for column in rows})
    repairs = find_repairs(elastic, suspects, elastic.places, until)
    return Conflict(False, _parts(elastic, rows), False, (), repairs, proven)


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


