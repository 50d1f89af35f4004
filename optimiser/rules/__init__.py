"""House rules: one class each, listed by topic, saved as a union told apart by `kind`."""

from __future__ import annotations

import operator
from collections.abc import Iterable
from functools import reduce
from types import ModuleType
from typing import Annotated, Any, get_args

from pydantic import Field, TypeAdapter

from optimiser.cafe import Cafe
from optimiser.rules import (
    colour,
    cooking,
    diets,
    display,
    kitchen,
    margins,
    mixes,
    money,
    novelty,
    nutrients,
    opened,
    pairs,
    pins,
    protein,
    season,
    shelf,
    spacing,
    stock,
    stretch,
    variety,
    veg_groups,
)
from optimiser.rules.base import Rows, Rule
from optimiser.rules.kitchen import Station, StationMinutes

__all__ = ["RULE_CLASSES", "TOPICS", "AnyRule", "Rows", "Rule", "default_rules", "parse_rule"]

_MODULES: dict[str, tuple[ModuleType, ...]] = {
    "Variety": (spacing, variety, novelty, mixes, pairs),
    "Colour": (colour, display, veg_groups),
    "Protein and nutrition": (protein, nutrients),
    "Diets": (diets,),
    "Money": (money, margins),
    "Stock": (stock, opened, stretch, shelf),
    "Kitchen": (kitchen, cooking),
    "Season": (season,),
    "Pins": (pins,),
}

TOPICS: dict[str, tuple[type[Rule], ...]] = {
    topic: tuple(rule for module in modules for rule in module.RULES)
    for topic, modules in _MODULES.items()
}
"""Kinds of rule by topic, in the order in which a page offers them."""

RULE_CLASSES: tuple[type[Rule], ...] = tuple(rule for kinds in TOPICS.values() for rule in kinds)
"""Every kind of rule."""

AnyRule: Any = Annotated[reduce(operator.or_, RULE_CLASSES), Field(discriminator="kind")]
"""Any rule, as saved: a field of this type reads and writes all kinds."""

_READER: TypeAdapter[Rule] = TypeAdapter(AnyRule)


def parse_rule(settings: dict[str, Any]) -> Rule:
    """A rule from `kind` and parameters, an empty text for a blank. Raises
    pydantic.ValidationError."""
    blanks = {name: None if value == "" else value for name, value in settings.items()}
    return _READER.validate_python(blanks)


def default_rules(cafe: Cafe, rules: Iterable[Rule]) -> tuple[Rule, ...]:
    """`rules`, and a hard rule for each station limited in [kitchen] that none names."""
    given = tuple(rules)
    named = {rule.station for rule in given if isinstance(rule, StationMinutes)}
    stations: tuple[Station, ...] = get_args(Station)
    missing = (
        StationMinutes(station=station)
        for station in stations
        if station not in named and getattr(cafe.kitchen, f"{station}_min") is not None
    )
    return (*given, *missing)
