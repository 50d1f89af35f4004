"""Words, row keys and faults that several rules share."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from difflib import get_close_matches

from optimiser.cafe import WEEKDAYS, Cafe

COUNT_TOLERANCE = 1e-6
"""Counts are whole numbers: anything above this is a real excess."""

MEASURE_TOLERANCE = 0.01
"""A hundredth of a gram, minute or cent is rounding, not a breach."""

COURSE = "course the rule speaks of; blank = every course that is sold"


def row_key(*parts: str | date) -> str:
    """`item__day` of letters, digits and _ only, as solvers want names."""
    return "__".join(
        part.isoformat().replace("-", "")
        if isinstance(part, date)
        else re.sub(r"[^a-z0-9_]", "_", part.lower())
        for part in parts
    )


def on(day: date) -> str:
    """A day as a person reads it: `Mon 2026-01-05`."""
    return f"{WEEKDAYS[day.weekday()].capitalize()} {day.isoformat()}"


def money(cafe: Cafe, cents: float) -> str:
    """An amount with the cafe's currency: `AUD 12.50`."""
    return f"{cafe.currency} {cents / 100:,.2f}"


def plain(number: float) -> str:
    """A number without needless digits: `20`, `12.5`."""
    return f"{number:,.2f}".rstrip("0").rstrip(".")


def counted(number: int, noun: str) -> str:
    """`1 day`, `2 days`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def dish_word(course: str | None, number: int = 1) -> str:
    """What the rule calls its dishes: `dish`, `salad dish`, `salad dishes`."""
    noun = "dish" if number == 1 else "dishes"
    return noun if course is None else f"{course.replace('_', ' ')} {noun}"


def unknown(what: str, word: str, known: Iterable[str]) -> str:
    """A fault: there is no such thing, and the nearest there is."""
    names = list(known)
    near = get_close_matches(word, names, n=1, cutoff=0.5)
    mend = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(names[:8]) or 'none'}"
    return f"there is no {what} {word!r}; {mend}"


def course_faults(cafe: Cafe, course: str | None) -> list[str]:
    """Faults of a `course` parameter."""
    if course is None or course in cafe.courses:
        return []
    return [unknown("course", course, cafe.courses)]


def sold_dish_faults(cafe: Cafe, dish: str) -> list[str]:
    """Faults of a parameter that names a dish of the cabinet."""
    if dish not in cafe.dishes:
        return [unknown("dish", dish, cafe.dishes)]
    course = cafe.dishes[dish].course
    if course not in cafe.courses:
        return [f"{dish!r} is never in the cabinet: its course {course!r} is not sold"]
    return []
