"""House rules: one class each, listed by hand, saved as a union told apart by `kind`."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, get_args

from pydantic import Field, TypeAdapter

from optimiser.cafe import Cafe
from optimiser.rules.base import Rows, Rule
from optimiser.rules.colour import ColoursDaily, MainColourCap
from optimiser.rules.kitchen import Station, StationMinutes
from optimiser.rules.money import FoodCostPct, PortionCostCap, PurchaseBudget
from optimiser.rules.pins import Bar, NotTogether, Pin
from optimiser.rules.protein import PlateProtein, ProteinDishes
from optimiser.rules.spacing import Spacing
from optimiser.rules.stock import UseUp
from optimiser.rules.variety import HeroDaily, WeeklyCap

__all__ = ["RULE_CLASSES", "AnyRule", "Rows", "Rule", "default_rules", "parse_rule"]

RULE_CLASSES: tuple[type[Rule], ...] = (
    Spacing,
    WeeklyCap,
    HeroDaily,
    ColoursDaily,
    MainColourCap,
    ProteinDishes,
    PlateProtein,
    PortionCostCap,
    FoodCostPct,
    PurchaseBudget,
    StationMinutes,
    UseUp,
    Pin,
    Bar,
    NotTogether,
)
"""Every kind of rule, in the order in which a page offers them."""

AnyRule = Annotated[
    Spacing
    | WeeklyCap
    | HeroDaily
    | ColoursDaily
    | MainColourCap
    | ProteinDishes
    | PlateProtein
    | PortionCostCap
    | FoodCostPct
    | PurchaseBudget
    | StationMinutes
    | UseUp
    | Pin
    | Bar
    | NotTogether,
    Field(discriminator="kind"),
]
"""Any rule, as saved: a field of this type reads and writes all kinds."""

_READER: TypeAdapter[Rule] = TypeAdapter(AnyRule)


def parse_rule(settings: dict[str, Any]) -> Rule:
    """A rule from `kind` and parameters. Raises pydantic.ValidationError."""
    return _READER.validate_python(settings)


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
