"""Parsers of single arguments; what is wrong becomes the message of a usage error."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from datetime import date, time
from typing import TypeVar

from optimiser import table_cells as cells

MOST_SECONDS = 24 * 3600.0

T = TypeVar("T")


def argument(parse: Callable[[str], T]) -> Callable[[str], T]:
    """A parser whose ValueError becomes the message of a usage error."""

    def parsed(text: str) -> T:
        try:
            return parse(text)
        except ValueError as error:
            raise argparse.ArgumentTypeError(f"{text!r}: {error}") from error

    return parsed


def whole(low: int, high: int) -> Callable[[str], int]:
    """A whole number between two others."""
    return argument(cells.whole_number(low, high))


def _seconds(text: str) -> float:
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not 0 < found <= MOST_SECONDS:
        raise ValueError(f"write a number of seconds above 0 and up to {MOST_SECONDS:.0f}")
    return found


def _moment(text: str) -> tuple[date, time | None]:
    at_day, _, clock = text.partition("T")
    return cells.iso_date(at_day), cells.clock(clock) if clock or text.endswith("T") else None


day = argument(cells.iso_date)
"""A date."""
moment = argument(_moment)
"""A date, or a date with a time."""
seconds = argument(_seconds)
"""How long something may take."""
money = argument(cells.price)
"""Money above nothing, as whole cents."""
