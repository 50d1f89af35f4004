"""What a person asks of single days, as rules: keep a dish, keep a day, bar a dish.

Each function takes the cafe's rules and returns them changed; asked twice, nothing
changes. Rules of every week (by weekday) are left alone: the Rules page is for them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from optimiser.plan import Plan
from optimiser.rules.base import Rule
from optimiser.rules.pins import Bar, KeepDay, Pin

Rules = tuple[Rule, ...]


def keep_dish(rules: Sequence[Rule], dish: str, day: date) -> Rules:
    """The dish is in the cabinet that day; a bar of the same dish and day goes."""
    return (
        *_without(rules, _bars(rules, dish, day) + _pins(rules, dish, day)),
        Pin(dish=dish, day=day),
    )


def free_dish(rules: Sequence[Rule], dish: str, day: date) -> Rules:
    """The dish is no longer kept that day by a wish for that day."""
    return _without(rules, _pins(rules, dish, day))


def keep_day(rules: Sequence[Rule], plan: Plan, day: date) -> Rules:
    """The cabinet of the day stays as it is in the plan; earlier wishes to keep it go."""
    kept = KeepDay(day=day, dishes=tuple(dict.fromkeys(plan.dishes_on(day))))
    return (*_without(rules, _kept_days(rules, day)), kept)


def free_day(rules: Sequence[Rule], day: date) -> Rules:
    """The day may change again."""
    return _without(rules, _kept_days(rules, day))


def bar_dish(rules: Sequence[Rule], dish: str, day: date | None) -> Rules:
    """The dish stays out, that day or (None) altogether; wishes to keep it then go."""
    against = [
        rule
        for rule in rules
        if isinstance(rule, Pin)
        and rule.dish == dish
        and isinstance(rule.day, date)
        and day in (None, rule.day)
    ]
    held = [
        rule
        for rule in rules
        if isinstance(rule, KeepDay) and dish in rule.dishes and day in (None, rule.day)
    ]
    same = _bars(rules, dish, day)
    loosened = [_without_dish(rule, dish) for rule in held]
    left = _without(rules, [*against, *held, *same])
    return (*left, *(rule for rule in loosened if rule is not None), Bar(dish=dish, day=day))


def swap_dish(rules: Sequence[Rule], out: str, instead: str, days: Iterable[date]) -> Rules:
    """One dish leaves these days, another takes its place."""
    for day in days:
        rules = keep_dish(bar_dish(rules, out, day), instead, day)
    return tuple(rules)


def is_kept(rules: Iterable[Rule], dish: str, day: date) -> bool:
    """Whether a wish for that day keeps the dish."""
    return bool(_pins(rules, dish, day))


def is_kept_day(rules: Iterable[Rule], day: date) -> bool:
    """Whether a wish keeps the whole day."""
    return bool(_kept_days(rules, day))


def barred(rules: Iterable[Rule], days: Iterable[date]) -> list[Bar]:
    """Bars that touch one of these days and speak of dates or of every day."""
    wanted = {None, *days}
    return [
        rule
        for rule in rules
        if isinstance(rule, Bar) and not isinstance(rule.day, str) and rule.day in wanted
    ]


def _pins(rules: Iterable[Rule], dish: str, day: date) -> list[Rule]:
    return [r for r in rules if isinstance(r, Pin) and (r.dish, r.day) == (dish, day)]


def _kept_days(rules: Iterable[Rule], day: date) -> list[Rule]:
    return [r for r in rules if isinstance(r, KeepDay) and r.day == day]


def _bars(rules: Iterable[Rule], dish: str, day: date | None) -> list[Rule]:
    return [r for r in rules if isinstance(r, Bar) and (r.dish, r.day) == (dish, day)]


def _without_dish(rule: KeepDay, dish: str) -> KeepDay | None:
    rest = tuple(other for other in rule.dishes if other != dish)
    return rule.model_copy(update={"dishes": rest}) if rest else None


def _without(rules: Sequence[Rule], gone: Iterable[Rule]) -> Rules:
    marked = {id(rule) for rule in gone}
    return tuple(rule for rule in rules if id(rule) not in marked)
