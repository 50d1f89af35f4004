"""What giving means: from a finished week's breaches to changes of a rule, in its own words."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.rules.base import Phrase, Rule
from optimiser.rules.words import on


@dataclass(frozen=True)
class Change:
    """One rule giving way. `number` is its place in week.rules; None: places, no rule."""

    number: int | None
    kind: str
    title: str
    sentence: str
    days: tuple[date, ...]


def changes_of(number: int, rule: Rule, plan: Plan, cafe: Cafe) -> list[Change]:
    """How `rule` has to give for `plan`: one change per thing, its days together."""
    breaches = rule.check(plan, cafe)
    if not breaches:
        return []
    return grouped(number, rule.kind, rule.title, rule.concede(plan, cafe, breaches))


def grouped(number: int | None, kind: str, title: str, phrases: list[Phrase]) -> list[Change]:
    """Changes from phrases; days of the same phrase are listed after it."""
    days_of: dict[str, list[date]] = defaultdict(list)
    for phrase, day in phrases:
        days_of[phrase] += [day] if day else []
    changes = []
    for phrase, days in days_of.items():
        unique = tuple(sorted(set(days)))
        when = f" on {listed([on(day) for day in unique])}" if unique else ""
        changes.append(Change(number, kind, title, phrase + when, unique))
    return changes


def listed(words: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
