"""The options of `plan` and `whatif` that change the week: a price that jumped, a delivery that
is short, a surplus, more guests, a broken oven."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from optimiser.cafe import Cafe
from optimiser.changes import (
    COVERS_FORM,
    MINUTES_FORM,
    PRICE_FORM,
    SHORT_FORM,
    STOCK_FORM,
    Change,
    parse_covers,
    parse_minutes,
    parse_price,
    parse_short,
    parse_stock,
)
from optimiser.name_find import find_ingredient, find_item, or_as_typed
from optimiser.week import Week

_OPTIONS: dict[str, tuple[Callable[[str, Week], Change], str, str]] = {
    "price": (parse_price, PRICE_FORM, "another price"),
    "stock": (parse_stock, STOCK_FORM, "a lot more, gone, or counted again"),
    "short": (parse_short, SHORT_FORM, "a supplier that does not come, or comes without a thing"),
    "covers": (parse_covers, COVERS_FORM, "more or fewer guests"),
    "minutes": (parse_minutes, MINUTES_FORM, "other minutes at a station"),
}

_NAMED = {
    "price": ("=", find_ingredient),
    "stock": ("=", find_item),
    "short": (":", find_ingredient),
}
"""Options that may name an ingredient or dish: beside which mark, and how it is found."""


@dataclass(frozen=True)
class Asked:
    """One such option as typed."""

    option: str
    text: str


def add_change_options(add: Callable[..., argparse.Action]) -> None:
    """Declare the options; each may be given several times, in the order that counts."""
    for option, (_, form, what) in _OPTIONS.items():
        add(
            f"--{option}",
            metavar="CHANGE",
            dest="changes",
            action="append",
            default=[],
            type=lambda text, option=option: Asked(option, text),
            help=f"as if: {what}, as {form}".replace("%", "%%"),
        )


@dataclass(frozen=True)
class Changed:
    """Changes that were asked for: `told` are their sentences, `week` is the week after them."""

    week: Week
    changes: tuple[Change, ...]
    told: tuple[str, ...]


def read_changes(week: Week, asked: Iterable[Asked]) -> Changed:
    """The changes in the order given. Raises ValueError with every fault, one a line, each with
    its option."""
    changes, told, faults = [], [], []
    for one in asked:
        parse, _, _ = _OPTIONS[one.option]
        try:
            change = parse(with_ids(one, week.cafe), week)
            sentence = change.describe(week.cafe, week.planned_on)
            week = change.apply(week)
        except ValueError as error:
            faults.append(f"--{one.option} {error}")
            continue
        changes.append(change)
        told.append(sentence)
    if faults:
        raise ValueError("\n".join(faults))
    return Changed(week, tuple(changes), tuple(told))


def with_ids(asked: Asked, cafe: Cafe) -> str:
    """The text of a change with the name of its ingredient or dish turned into the id; as it is
    where there is no such name."""
    mark, find = _NAMED.get(asked.option, ("", find_item))
    before, found, after = asked.text.rpartition(mark) if mark else ("", "", "")
    if not found:
        return asked.text
    if asked.option == "short":
        return f"{before}:{or_as_typed(find, cafe, after)}"
    if ":" in before or before.strip() == "*":
        return asked.text
    return f"{or_as_typed(find, cafe, before)}={after}"
