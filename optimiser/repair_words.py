"""What giving means: from a finished week's breaches to changes of a rule, in its own words."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from optimiser.plan import Breach, Plan
from optimiser.rule_loosen import loosened
from optimiser.rules.base import Phrase, Rule
from optimiser.rules.words import on
from optimiser.week import Week

MOST_LINES = 2
"""Of more phrases, one is made where they are of one number of the rule."""


@dataclass(frozen=True)
class Change:
    """One rule giving way. `number` is its place in week.rules; None: places, no rule.

    `each`: what `sentence` puts together, where it does.
    """

    number: int | None
    kind: str
    title: str
    sentence: str
    days: tuple[date, ...]
    each: tuple[str, ...] = ()


def changes_of(number: int, rule: Rule, plan: Plan, week: Week) -> list[Change]:
    """How `rule` has to give for `plan`, in few lines: one per thing, its days together;
    of many things one, which is what the rule says once it gives."""
    breaches = rule.check(plan, week.cafe)
    if not breaches:
        return []
    phrases = rule.concede(plan, week.cafe, breaches)
    changes = grouped(number, rule.kind, rule.title, phrases)
    if len(changes) <= MOST_LINES:
        return changes
    days = tuple(sorted({day for change in changes for day in change.days}))
    said = _together(rule, plan, week, breaches, phrases)
    each = tuple(change.sentence for change in changes)
    return [Change(number, rule.kind, rule.title, said + _when(days, week), days, each)]


def _together(
    rule: Rule, plan: Plan, week: Week, breaches: list[Breach], phrases: list[Phrase]
) -> str:
    """One phrase for all: the largest, if they differ in their numbers only; else the rule as
    it is then; else, where it has no number for it, the first and how many more."""
    if len({re.sub(r"[\d.,]+", "#", phrase) for phrase, _ in phrases}) == 1:
        worst = max(breaches, key=lambda breach: breach.amount)
        return rule.concede(plan, week.cafe, [worst])[0][0]
    given = loosened(rule, plan, week.cafe)
    if given is not None:
        return "from then on: " + given.describe(week.cafe).rstrip(".")
    different = list(dict.fromkeys(phrase for phrase, _ in phrases))
    return f"{different[0]}, and {len(different) - 1} more like it"


def _when(days: tuple[date, ...], week: Week) -> str:
    if not days:
        return ""
    if len(days) > 1 and set(days) == set(week.open_dates):
        return " every day"
    return f" on {listed([on(day) for day in days])}"


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


def listed(words: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
