"""What if: changes to a week, one class per kind, saved as a union told apart by `kind`.

    week = apply_all(week, [parse_price("butternut=+30%"), parse_minutes("oven@tue=0")])

The week given is never changed; planning and verifying the new one is like any other.
"""

from __future__ import annotations

import operator
from functools import reduce
from typing import Annotated, Any

from pydantic import Field, TypeAdapter

from optimiser.change_base import Change, apply_all, with_facts
from optimiser.change_days import CoversChange, MinutesChange, ShortDelivery
from optimiser.change_prices import PriceChange
from optimiser.change_stock import ExtraLot, LotCount, LotGone
from optimiser.change_words import (
    COVERS_FORM,
    MINUTES_FORM,
    PRICE_FORM,
    SHORT_FORM,
    STOCK_FORM,
    parse_covers,
    parse_minutes,
    parse_price,
    parse_short,
    parse_stock,
)

__all__ = [
    "CHANGE_CLASSES",
    "COVERS_FORM",
    "MINUTES_FORM",
    "PRICE_FORM",
    "SHORT_FORM",
    "STOCK_FORM",
    "AnyChange",
    "Change",
    "CoversChange",
    "ExtraLot",
    "LotCount",
    "LotGone",
    "MinutesChange",
    "PriceChange",
    "ShortDelivery",
    "apply_all",
    "parse_change",
    "parse_covers",
    "parse_minutes",
    "parse_price",
    "parse_short",
    "parse_stock",
    "with_facts",
]

CHANGE_CLASSES: tuple[type[Change], ...] = (
    PriceChange,
    ExtraLot,
    LotGone,
    LotCount,
    ShortDelivery,
    CoversChange,
    MinutesChange,
)
"""Every kind of change."""

AnyChange: Any = Annotated[reduce(operator.or_, CHANGE_CLASSES), Field(discriminator="kind")]
"""Any change, as saved: a field of this type reads and writes all kinds."""

_READER: TypeAdapter[Change] = TypeAdapter(AnyChange)


def parse_change(settings: dict[str, Any]) -> Change:
    """A change from `kind` and parameters, as saved. Raises pydantic.ValidationError."""
    return _READER.validate_python(settings)
