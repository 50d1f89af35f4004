"""Changes as they are written on a command line: `butternut=+30%`, `oven@tue=0`.

Every parser raises ValueError with the text, what is wrong in it, and the mend. Given
the week too, it also refuses what does not fit that week.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Any, TypeVar, get_args

from optimiser import table_cells as cells
from optimiser.cafe import WEEKDAYS, State
from optimiser.change_base import ALL, Change
from optimiser.change_days import (
    MOST_GUESTS,
    MOST_MIN,
    MOST_PCT,
    CoversChange,
    MinutesChange,
    ShortDelivery,
)
from optimiser.change_prices import HIGHEST_PCT, LOWEST_PCT, Per, PriceChange
from optimiser.change_stock import ExtraLot, LotCount, LotGone
from optimiser.rules.kitchen import Station
from optimiser.rules.words import unknown
from optimiser.table_schema import MAX_G
from optimiser.units import UNITS
from optimiser.week import Week

PRICE_FORM = "WHAT=+30%, WHAT=4.20/kg, group:NAME=-5%, supplier:ID=+3%@2026-12-02 or *=+3%"
STOCK_FORM = "ITEM=12kg,use-by 2026-12-03, stock-7=300g or stock-7=gone"
SHORT_FORM = "SUPPLIER@2026-12-02 or SUPPLIER@2026-12-02:INGREDIENT"
COVERS_FORM = "fri=+20%, 2026-12-04=110 or all=-10%"
MINUTES_FORM = "oven@tue=0 or hands_on@all=-25%"

_LOT = re.compile(r"(?:stock|extra)-[1-9][0-9]{0,6}")
_QTY = re.compile(r"([^a-z]+?) ?([a-z]+)")

Made = TypeVar("Made", bound=Change)


def parse_price(text: str, week: Week | None = None) -> PriceChange:
    """`butternut=+30%`, `chickpeas=4.20/kg`, `group:squash=+10%`,
    `supplier:farm=-5%@2026-12-02`, `*=+3%`."""
    return _checked(text, _price, week)


def parse_stock(text: str, week: Week | None = None) -> ExtraLot | LotGone | LotCount:
    """`pumpkin=12kg,use-by 2026-12-03`, `pumpkin=0.5each,opened,use-by ...`, `stock-7=gone`,
    `stock-7=300g`."""
    return _checked(text, _stock, week)


def parse_short(text: str, week: Week | None = None) -> ShortDelivery:
    """`farm@2026-12-02`, `farm@2026-12-02:butternut`."""
    return _checked(text, _short, week)


def parse_covers(text: str, week: Week | None = None) -> CoversChange:
    """`fri=+20%`, `2026-12-04=110`, `all=-10%`."""
    return _checked(text, _covers, week)


def parse_minutes(text: str, week: Week | None = None) -> MinutesChange:
    """`oven@tue=0`, `hands_on@all=-25%`."""
    return _checked(text, _minutes, week)


def _checked(text: str, parse: Callable[[str], Made], week: Week | None) -> Made:
    """The change, or one ValueError that quotes the text."""
    try:
        change = parse(text)
        if week is not None and (found := change.faults(week)):
            raise ValueError("; ".join(found))
    except ValueError as error:
        raise ValueError(f"{text!r}: {error}") from error
    return change


def _price(text: str) -> PriceChange:
    what, amount = _split(text, "=", PRICE_FORM)
    amount, at, day = (part.strip() for part in amount.partition("@"))
    of, name = _priced(what)
    start = _date(day) if at else None
    if amount.endswith("%"):
        pct = _percent(amount, LOWEST_PCT, HIGHEST_PCT)
        return PriceChange(of=of, name=name, pct=pct, from_date=start)
    money, _, unit = (part.strip() for part in amount.partition("/"))
    units: tuple[Per, ...] = get_args(Per)
    per = next((one for one in units if one == unit), None)
    if per is None:
        raise ValueError(f"{amount!r} is no price for a change; write it as +30%, 4.20/kg, "
                         "4.20/l, 3.50/each or 9.80/pack")  # fmt: skip
    cents = _about(money, cells.price)
    return PriceChange(of=of, name=name, to_cents=cents, per=per, from_date=start)


def _priced(what: str) -> tuple[Any, str]:
    """What a price is of: (`of`, `name`) of PriceChange."""
    if what == "*":
        return "all", ""
    of, colon, name = (part.strip() for part in what.partition(":"))
    if not colon:
        return "ingredient", _about(what, cells.slug)
    if of not in ("ingredient", "group", "supplier"):
        raise ValueError(unknown("kind of price", of, ("ingredient", "group", "supplier")))
    if not name:
        raise ValueError(f"no name stands after {of!r}; write it behind the colon")
    return of, name


def _stock(text: str) -> ExtraLot | LotGone | LotCount:
    what, rest = _split(text, "=", STOCK_FORM)
    amount, *more = (part.strip() for part in rest.split(","))
    if _LOT.fullmatch(what):
        if more:
            raise ValueError(f"the state and use-by of {what} stay as they are; leave out what "
                             "comes after the comma")  # fmt: skip
        if amount == "gone":
            return LotGone(lot=what)
        qty, unit = _quantity(amount, "or gone")
        return LotCount(lot=what, qty=qty, unit=unit)
    item = _about(what, cells.slug)
    if amount == "gone":
        raise ValueError("only a lot can be gone; name it by its row of stock.csv, as stock-7=gone")
    qty, unit = _quantity(amount, "with use-by 2026-12-03 after a comma")
    return ExtraLot(item=item, qty=qty, unit=unit, **_lot_words(more))


def _quantity(text: str, also: str) -> tuple[float, str]:
    found = _QTY.fullmatch(text)
    if not found:
        raise ValueError(f"{text!r} is no amount; write a number and a unit, as 12kg, {also}")
    number, unit = found[1].strip(), found[2]
    if unit not in UNITS:
        raise ValueError(f"{unit!r} is no unit; use one of {', '.join(UNITS)}")
    return _about(number, cells.number(0, MAX_G, above=True)), unit


def _lot_words(parts: list[str]) -> dict[str, Any]:
    """The state and the use-by date written after the amount."""
    found: dict[str, Any] = {}
    for part in parts:
        word, _, day = part.partition(" ")
        dated = word == "use-by"
        if not dated and part not in tuple(State):
            raise ValueError(f"{part!r} is neither a state nor a date; write whole, opened, "
                             "cooked or use-by 2026-12-03")  # fmt: skip
        key = "use_by" if dated else "state"
        if key in found:
            raise ValueError(f"{part!r} comes second; keep one {key.replace('_', '-')}")
        found[key] = _date(day.strip()) if dated else State(part)
    return found


def _short(text: str) -> ShortDelivery:
    supplier, rest = _split(text, "@", SHORT_FORM)
    day, colon, item = (part.strip() for part in rest.partition(":"))
    return ShortDelivery(
        supplier=_about(supplier, cells.slug),
        day=_date(day),
        ingredient=_about(item, cells.slug) if colon else None,
    )


def _covers(text: str) -> CoversChange:
    what, amount = _split(text, "=", COVERS_FORM)
    day = _date(what) if what[:1].isdigit() else _weekday(what, " or a date, as 2026-12-04")
    return CoversChange(day=day, **_pct_or_number(amount, MOST_GUESTS))


def _minutes(text: str) -> MinutesChange:
    where, amount = _split(text, "=", MINUTES_FORM)
    station, day = _split(where, "@", MINUTES_FORM)
    stations: tuple[Station, ...] = get_args(Station)
    named = next((one for one in stations if one == station), None)
    if named is None:
        raise ValueError(unknown("station", station, stations))
    return MinutesChange(station=named, day=_weekday(day, ""), **_pct_or_number(amount, MOST_MIN))


def _split(text: str, mark: str, form: str) -> tuple[str, str]:
    """The two sides of the last `mark`; both have to be there."""
    left, _, right = (part.strip() for part in text.rpartition(mark))
    if not left or not right:
        raise ValueError(f"something is missing beside {mark!r}; write it as {form}")
    return left, right


def _about(part: str, parse: Callable[[str], Any]) -> Any:
    """A cell parser on a part of the text, which its fault then names."""
    try:
        return parse(part)
    except ValueError as error:
        raise ValueError(f"{part!r} is {error}") from error


def _date(text: str) -> date:
    day: date = _about(text, cells.iso_date)
    return day


def _weekday(text: str, also: str) -> Any:
    if text not in (*WEEKDAYS, ALL):
        raise ValueError(f"{text!r} is no day; write {', '.join(WEEKDAYS)} or all{also}")
    return text


def _pct_or_number(text: str, most: float) -> dict[str, Any]:
    if text.endswith("%"):
        return {"pct": _percent(text, -100.0, MOST_PCT)}
    if text[:1] in "+-":
        raise ValueError(f"{text!r} is neither a number nor a percentage; write 110, +20% or -20%")
    return {"to": _about(text, cells.number(0, most))}


def _percent(text: str, least: float, most: float) -> float:
    """Signed, so that nobody takes 30% for the new share."""
    if text[:1] not in "+-":
        raise ValueError(f"{text!r} may mean more or less; write +{text} or -{text}")
    percent: float = _about(text.removesuffix("%").strip(), cells.number(least, most))
    return percent
