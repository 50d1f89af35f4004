"""The shape of a change, "what if": it turns a week into another and leaves the first alone."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any, Literal

from optimiser.cafe import WEEKDAYS, Cafe, Fact
from optimiser.rules.words import on, plain
from optimiser.week import Week

ALL = "all"

DayName = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun", "all"]
"""A weekday, or every day."""

_FULL_NAMES = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")


class Change(Fact):
    """Base of all changes, told apart by `kind`."""

    kind: str

    @abstractmethod
    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        """One sentence with the numbers in it, told against the cafe before the change.

        `today` is the day of planning, whose prices are the old ones; blank: the
        latest prices known.
        """

    @abstractmethod
    def faults(self, week: Week) -> list[str]:
        """What does not fit this week, or would change nothing in it, each with the mend."""

    def apply(self, week: Week) -> Week:
        """A new week with this change. Raises ValueError with its faults."""
        if found := self.faults(week):
            raise ValueError("; ".join(found))
        return self._applied(week)

    @abstractmethod
    def _applied(self, week: Week) -> Week:
        """The new week, for a change without faults."""


def apply_all(week: Week, changes: Iterable[Change]) -> Week:
    """The week after all changes, in the order given. Raises ValueError."""
    for change in changes:
        week = change.apply(week)
    return week


def with_facts(cafe: Cafe, **changes: Any) -> Cafe:
    """A new cafe with some fields replaced.

    Built from its fields and not by `model_copy`, which would carry over what the
    old cafe has worked out from its old facts.
    """
    return Cafe(**{name: getattr(cafe, name) for name in Cafe.model_fields} | changes)


def with_cafe(week: Week, **changes: Any) -> Week:
    """The week with some facts of its cafe replaced."""
    return replace(week, cafe=with_facts(week.cafe, **changes))


def falls_on(name: DayName | date, day: date) -> bool:
    """Whether a weekday, a date or `all` means this day."""
    if isinstance(name, date):
        return name == day
    return name == ALL or WEEKDAYS[day.weekday()] == name


def day_faults(week: Week, name: DayName | date) -> list[str]:
    """A fault if no open day of the week is meant."""
    if any(falls_on(name, day) for day in week.open_dates):
        return []
    open_days = ", ".join(on(day) for day in week.open_dates)
    what = on(name) if isinstance(name, date) else name
    return [f"{what} is no open day of this week; name one of {open_days}"]


def day_words(name: DayName | date) -> str:
    """`Fri 2026-12-04`, `Fridays` or `Every day`."""
    if isinstance(name, date):
        return on(name)
    return "Every day" if name == ALL else _FULL_NAMES[WEEKDAYS.index(name)]


def more_or_less(pct: float, more: str = "more", less: str = "less") -> str:
    """`30 % more`, `5 % less`."""
    return f"{plain(abs(pct))} % {less if pct < 0 else more}"


def span(values: Iterable[float]) -> str:
    """`240`, or `240 to 300` where they differ."""
    found = list(values)
    low, high = plain(min(found)), plain(max(found))
    return low if low == high else f"{low} to {high}"


def capital(text: str) -> str:
    """The text with its first letter as a capital, as a sentence starts."""
    return text[:1].upper() + text[1:]
