"""Money, days and numbers as people of a place write them (babel's CLDR data).

One process serves one cafe: its `locale` is set once and holds everywhere. What files for
other programs hold is written plainly, whatever the locale: `with written_as(None)`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from decimal import Decimal

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.numbers import format_currency, format_decimal

from optimiser.cafe import WEEKDAYS

_of_block: ContextVar[Locale | None] = ContextVar("locale of a block")
_of_process: Locale | None = None


def parse_locale(code: str) -> Locale:
    """A language with a country, as `en_AU`. Raises ValueError."""
    try:
        return Locale.parse(code.strip().replace("-", "_"))
    except (UnknownLocaleError, ValueError, TypeError) as error:
        mend = "write a language and a country, as en_AU or de_AT"
        raise ValueError(f"not a language that is known here; {mend}") from error


def use_locale(code: str | None) -> None:
    """Write as this place does from now on, in the whole process; None: plainly."""
    global _of_process
    _of_process = None if code is None else parse_locale(code)


@contextmanager
def written_as(code: str | None) -> Iterator[None]:
    """Write as this place does within a block; None: plainly."""
    token = _of_block.set(None if code is None else parse_locale(code))
    try:
        yield
    finally:
        _of_block.reset(token)


def locale_here() -> Locale | None:
    """The place whose ways hold here; None: plainly."""
    return _of_block.get(_of_process)


def money(amount: Decimal, currency: str) -> str:
    """`$12.50` for AUD. Without a locale as the currency's own country writes it in English.

    Codes of ISO 4217 begin with the country's code; a currency without such an
    English-speaking country is written in general English (`€12.50`).
    """
    locale = locale_here() or _english_of(currency)
    text: str = format_currency(amount, currency, locale=locale)
    return text


def _english_of(currency: str) -> Locale:
    try:
        return Locale.parse(f"en_{currency[:2]}")
    except (UnknownLocaleError, ValueError):
        return Locale("en")


def weekday(day: date) -> str:
    """`Mon` to `Sun`."""
    locale = locale_here()
    if locale is None:
        return WEEKDAYS[day.weekday()].capitalize()
    return format_date(day, "EEE", locale=locale)


def full_day(day: date) -> str:
    """`Mon 2026-11-30`; with a locale `Mon, 30 Nov 2026`."""
    locale = locale_here()
    if locale is None:
        return f"{weekday(day)} {day.isoformat()}"
    return format_skeleton("yMMMEd", day, locale=locale)


def bare_day(day: date) -> str:
    """`2026-11-30`; with a locale as `full_day`."""
    return day.isoformat() if locale_here() is None else full_day(day)


def short_day(day: date) -> str:
    """`Mon 30 Nov`: where the year is plain from the rest."""
    locale = locale_here()
    if locale is None:
        return f"{weekday(day)} {day.day} {day:%b}"
    return format_skeleton("MMMEd", day, locale=locale)


def number(value: float, places: int) -> str:
    """A number with at most so many places: `20`, `12.5`. Thousands are set apart with a
    locale only."""
    locale = locale_here()
    if locale is None:
        text = f"{value:.{places}f}"
        return text.rstrip("0").removesuffix(".") if places else text
    pattern = "#,##0." + "#" * places if places else "#,##0"
    return format_decimal(value, pattern, locale=locale)


def grouped(value: float, places: int) -> str:
    """A number with at most so many places, thousands set apart: `1,250.5`."""
    if locale_here() is not None:
        return number(value, places)
    text = f"{value:,.{places}f}"
    return text.rstrip("0").removesuffix(".") if places else text
