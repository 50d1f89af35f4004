"""A repair as changed rules: each rule that gives, loosened as far as the repair's week needs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.rules import Rule
from optimiser.rules.catalogue import Parameter, parameters

if TYPE_CHECKING:
    from optimiser.repair_choice import Repair

NOT_LIMITS = {
    "fridge_litres": ("l_per_kg",),
    "oven_settings": ("within_c",),
    "unseen_share": ("weeks",),
    "use_up": ("within_days",),
}
"""Numbers that say what a rule speaks of or how things are, not how much it asks."""

LARGE = 10.0
"""From here on numbers that are no whole ones give in tenths, below in hundredths."""

FARTHEST = 1e7
"""Where a parameter has no limit of its own, none is looked for beyond this."""


@dataclass(frozen=True)
class Loosened:
    """A rule that gives. `number`: its place in the rules of the week; `rule`: as it is
    then, None if nothing of it can give and it has to be switched off."""

    number: int
    rule: Rule | None


def mended(rules: Sequence[Rule], repair: Repair, cafe: Cafe) -> tuple[Loosened, ...] | None:
    """The changed rules under which the repair's week is allowed; None if it leaves places
    empty, which no rule can say."""
    numbers = sorted({change.number for change in repair.changes if change.number is not None})
    if any(change.number is None for change in repair.changes):
        return None
    return tuple(Loosened(n, loosened(rules[n], repair.plan, cafe)) for n in numbers)


def loosened(rule: Rule, plan: Plan, cafe: Cafe) -> Rule | None:
    """The rule changed as little as `plan` needs: for each of its limits one number, or else
    entries of a list left out. None if that does not help."""
    changes: dict[str, Any] = {}
    for part in rule.parts():
        if part.check(plan, cafe):
            changes |= _number(part, plan, cafe)
    changed = _with(rule, changes or _shorter(rule, plan, cafe))
    return changed if changed != rule and _helps(changed, plan, cafe) else None


def _number(rule: Rule, plan: Plan, cafe: Cafe) -> dict[str, Any]:
    """The one number to change least, in proportion, and its new value; empty if none helps."""
    ways = [
        (abs(value - now) / max(abs(now), 1), one.name, value)
        for one in parameters(type(rule))
        if one.number and one.name not in NOT_LIMITS.get(rule.kind, ())
        for now in [getattr(rule, one.name)]
        if now is not None
        for far in _ends(one, now)
        for value in _nearest(rule, one.name, now, far, plan, cafe)
    ]
    return {name: value for _, name, value in sorted(ways)[:1]}


def steps_of(now: float) -> int:
    """In how many steps a one of the parameter is looked through."""
    return 1 if isinstance(now, int) else 10 if abs(now) >= LARGE else 100


def _ends(one: Parameter, now: float) -> tuple[float, float]:
    """How far down and up a number may go."""
    step = 1 / steps_of(now)
    low = -FARTHEST if one.limits.low is None else one.limits.low + step * one.limits.above
    high = FARTHEST if one.limits.high is None else one.limits.high - step * one.limits.below
    return low, high


def _nearest(
    rule: Rule, name: str, now: float, far: float, plan: Plan, cafe: Cafe
) -> Iterator[float]:
    """The value nearest to `now` towards `far` that helps, by halving: a limit that helps
    still does when it is loosened further."""
    steps = steps_of(now)
    sign = 1 if far > now else -1

    def value(step: int) -> float:
        moved = round(now * steps) + sign * step
        return moved if steps == 1 else moved / steps

    def helps(step: int) -> bool:
        return _helps(_with(rule, {name: value(step)}), plan, cafe)

    low, high = 0, math.floor(abs(far - now) * steps + 1e-9)
    if high < 1 or not helps(high):
        return
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if helps(middle) else (middle, high)
    yield value(high)


def _shorter(rule: Rule, plan: Plan, cafe: Cafe) -> dict[str, Any]:
    """A list without the entries that `plan` does not keep, if some are left."""
    for name in type(rule).model_fields:
        entries = getattr(rule, name)
        if isinstance(entries, tuple):
            kept = tuple(one for one in entries if _helps(_with(rule, {name: (one,)}), plan, cafe))
            if kept:
                return {name: kept}
    return {}


def _helps(rule: Rule, plan: Plan, cafe: Cafe) -> bool:
    return not rule.faults(cafe) and not rule.check(plan, cafe)


def _with(rule: Rule, changes: dict[str, Any]) -> Rule:
    return rule.model_copy(update=changes)
