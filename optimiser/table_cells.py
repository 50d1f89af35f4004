"""What one cell may hold. Each maker returns a function from the text of a cell
(stripped, not blank) to its value, which raises ValueError with what is wrong
and the mend. Nothing here guesses: `1,5`, `$3` and `1e999` are refused."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import date, time
from decimal import Decimal
from typing import Any

from optimiser.cafe import WEEKDAYS

Parse = Callable[[str], Any]

SLUG = re.compile(r"[a-z0-9_]{1,64}")
WORD = re.compile(r"[a-z0-9]+(?:[ _-][a-z0-9]+)*")
NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
MONEY = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,2})?")
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x9f]")

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
FIRST_YEAR, LAST_YEAR = 2000, 2099
UNKNOWN_WORDS = frozenset({"unknown", "?", "n/a", "na", "tbc", "tbd"})


def slug(text: str) -> str:
    """An id."""
    if not SLUG.fullmatch(text):
        raise ValueError("not an id; use 1 to 64 of a-z, 0-9 and _")
    return text


def text(longest: int, lines: bool = False) -> Parse:
    """Free text of at most `longest` characters, on one line unless `lines`."""

    def parse(cell: str) -> str:
        if len(cell) > longest:
            raise ValueError(f"longer than {longest} characters; shorten it")
        if CONTROL.search(cell):
            raise ValueError("holds a control character; type the text again")
        if not lines and re.search(r"[\r\n]", cell):
            raise ValueError("holds a line break; write it on one line")
        return cell

    return parse


def word(cell: str) -> str:
    """A plain word or two, such as a colour, in lower case."""
    lower = cell.lower()
    if len(lower) > 64 or not WORD.fullmatch(lower):
        raise ValueError("not a plain word; use letters and digits, joined by _, - or a space")
    return lower


def colour(cell: str) -> str:
    """A plain word or two with spaces between them: `dark-green` is `dark green`."""
    return re.sub(r"[-_ ]+", " ", word(cell))


def words(cell: str) -> frozenset[str]:
    """A `;` list of plain words; `none` alone is the empty list."""
    found = [word(part) for part in _parts(cell)]
    if found == ["none"]:
        return frozenset()
    for name in found:
        if name == "none":
            raise ValueError("`none` beside other entries; write one or the other")
        if name in UNKNOWN_WORDS:
            raise ValueError("leave the cell blank for unknown, write `none` for none")
    return frozenset(found)


def allergens(cell: str) -> frozenset[str]:
    """A `;` list of allergens; `none` alone when the label names none."""
    if cell.lower() in UNKNOWN_WORDS:
        raise ValueError("leave the cell blank for unknown, write `none` for none")
    return words(cell)


def choice(*allowed: str) -> Parse:
    """One of a few words, in any case."""

    def parse(cell: str) -> str:
        if cell.lower() not in allowed:
            raise ValueError(f"use one of {', '.join(allowed)}")
        return cell.lower()

    return parse


def yes_or_no(cell: str) -> bool:
    """A truth."""
    answer = {"yes": True, "no": False, "true": True, "false": False, "1": True, "0": False}
    if cell.lower() not in answer:
        raise ValueError("write yes or no")
    return answer[cell.lower()]


def number(low: float, high: float, above: bool = False) -> Parse:
    """A number from `low` (or, if `above`, from just over it) to `high`."""
    limits = f"more than {low:g}, at most {high:g}" if above else f"from {low:g} to {high:g}"

    def parse(cell: str) -> float:
        if not NUMBER.fullmatch(cell):
            mend = "write it with a point" if "," in cell else "write a plain number such as 2.5"
            raise ValueError(f"not a number; {mend}")
        value = float(cell)
        if not math.isfinite(value) or not low <= value <= high or (above and value == low):
            raise ValueError(f"not a likely amount; it must be {limits}")
        return value

    return parse


def whole_number(low: int, high: int) -> Parse:
    """A whole number from `low` to `high`."""
    number_between = number(low, high)

    def parse(cell: str) -> int:
        value: float = number_between(cell)
        if value != int(value):
            raise ValueError("not a whole number; write one without a fraction")
        return int(value)

    return parse


def cents(cell: str) -> int:
    """Money with at most two decimals, as whole cents."""
    if not MONEY.fullmatch(cell):
        raise ValueError("not an amount of money; write digits with at most 2 decimals, as 3.50")
    return int(Decimal(cell) * 100)


def price(cell: str) -> int:
    """Money that is not zero, as whole cents."""
    value = cents(cell)
    if value == 0:
        raise ValueError("a price of nothing; write the price, or list what is free in stock.csv")
    return value


def iso_date(cell: str) -> date:
    """A date such as 2026-11-30."""
    try:
        day = date.fromisoformat(cell) if DATE.fullmatch(cell) else None
    except ValueError:
        day = None
    if day is None:
        raise ValueError("not a date of the calendar; write it as YYYY-MM-DD")
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f"not a likely year; it must be {FIRST_YEAR} to {LAST_YEAR}")
    return day


def clock(cell: str) -> time:
    """A time of day such as 14:30."""
    found = CLOCK.fullmatch(cell)
    if not found or int(found[1]) > 23 or int(found[2]) > 59:
        raise ValueError("not a time of day; write it as HH:MM")
    return time(int(found[1]), int(found[2]))


def weekday_or_date(cell: str) -> int | date:
    """A weekday (Monday 0) or a date."""
    if cell.lower() in WEEKDAYS:
        return WEEKDAYS.index(cell.lower())
    if not cell[:1].isdigit():
        raise ValueError(f"neither a weekday ({', '.join(WEEKDAYS)}) nor a date YYYY-MM-DD")
    return iso_date(cell)


def days(cell: str) -> tuple[int | date, ...]:
    """A `;` list of weekdays and dates."""
    return tuple(weekday_or_date(part) for part in _parts(cell))


def months(cell: str) -> frozenset[int]:
    """A `;` list of months, as 1 to 12 or jan to dec."""
    found = set()
    for part in _parts(cell):
        if part.lower() in MONTHS:
            found.add(MONTHS.index(part.lower()) + 1)
        elif re.fullmatch(r"0?[1-9]|1[0-2]", part):
            found.add(int(part))
        else:
            raise ValueError("not months; write numbers from 1 to 12 between `;`")
    return frozenset(found)


def chances(cell: str) -> tuple[tuple[float, float], ...]:
    """`guests:probability` pairs between `;`, by guests, adding up to 1."""
    guests, probability = number(0, 100_000), number(0, 1)
    found: dict[float, float] = {}
    for part in _parts(cell):
        pair = [side.strip() for side in part.split(":")]
        if len(pair) != 2:
            raise ValueError("write guests:probability between `;`, as 40:0.5;60:0.5")
        key = guests(pair[0])
        if key in found:
            raise ValueError(f"{key:g} guests are listed twice; keep one")
        found[key] = probability(pair[1])
    if abs(sum(found.values()) - 1) > 1e-6:
        raise ValueError(f"the chances add up to {sum(found.values()):g}; make them 1")
    return tuple(sorted(found.items()))


def _parts(cell: str) -> list[str]:
    """The entries of a `;` list."""
    found = [part.strip() for part in cell.split(";")]
    if found and not found[-1]:
        found.pop()
    if not found or not all(found):
        raise ValueError("an empty entry between `;`; take the extra `;` out")
    if len(set(found)) < len(found):
        raise ValueError("an entry is listed twice; keep one")
    return found
