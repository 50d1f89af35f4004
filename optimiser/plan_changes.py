"""The options of `plan` that change the week before it is planned: a price that jumped, a
delivery that is short, a surplus, more guests, a broken oven."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from dataclasses import dataclass

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
from optimiser.week import Week

_OPTIONS: dict[str, tuple[Callable[[str, Week], Change], str, str]] = {
    "price": (parse_price, PRICE_FORM, "another price"),
    "stock": (parse_stock, STOCK_FORM, "a lot more, gone, or counted again"),
    "short": (parse_short, SHORT_FORM, "a supplier that does not come, or comes without a thing"),
    "covers": (parse_covers, COVERS_FORM, "more or fewer guests"),
    "minutes": (parse_minutes, MINUTES_FORM, "other minutes at a station"),
}


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
            help=f"plan as if: {what}, as {form}".replace("%", "%%"),
        )


def changed_week(week: Week, asked: Iterable[Asked]) -> tuple[Week, list[str]]:
    """The week after the changes, and each as a sentence. Raises ValueError with the option."""
    sentences = []
    for one in asked:
        parse, _, _ = _OPTIONS[one.option]
        try:
            change = parse(one.text, week)
            sentences.append(change.describe(week.cafe, week.planned_on))
            week = change.apply(week)
        except ValueError as error:
            raise ValueError(f"--{one.option} {error}") from error
    return week, sentences
