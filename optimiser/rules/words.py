"""Words, row keys and faults that several rules share."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date
from difflib import get_close_matches

from optimiser.cafe import WEEKDAYS, Cafe
from optimiser.plan import Breach

COUNT_TOLERANCE = 1e-6
"""Counts are whole numbers: anything above this is a real excess."""

MEASURE_TOLERANCE = 0.01
"""A hundredth of a gram, minute or cent is rounding, not a breach."""

MINUTES_UP_TO, GRAMS_UP_TO, CENTS_UP_TO, PCT_UP_TO, PROTEIN_DOWN_TO_G = 5, 10, 100, 0.1, 0.5
"""What amounts in `concede` are rounded to, always to the generous side."""

LEAST_MIN, LEAST_CENTS, LEAST_G = 30.0, 100.0, 100.0
"""In `share`, limits near nothing are counted as these, or the first step would seem endless."""

COURSE = "course the rule speaks of; blank = every course that is sold"


def row_key(*parts: str | date) -> str:
    """`item__day` of letters, digits and _ only, as solvers want names.

    Other characters are written as their number: `dark green` and `dark-green` may both be
    colours of a cafe, and two rows of one name cannot be.
    """
    return "__".join(
        part.isoformat().replace("-", "")
        if isinstance(part, date)
        else re.sub(r"[^a-z0-9_]", lambda odd: f"_{ord(odd[0]):x}_", part.lower())
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


def up_to(amount: float, step: float) -> float:
    """The next multiple of `step`; a hundredth of a unit is rounding."""
    return math.ceil((amount - 0.01) / step - 1e-9) * step


def named(cafe: Cafe, breach: Breach) -> str:
    """The name of the dish or ingredient a breach is about."""
    return cafe.name_of(breach.item) if breach.item else "a dish"


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
