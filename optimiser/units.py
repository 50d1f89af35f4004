"""Grams, millilitres, pieces and portions: the only conversions in the project.

pint does the arithmetic of masses and volumes, in a registry that knows these
units and no others. Its own definitions would mislead a kitchen: there a cup is
the US one, a tablespoon is 14.8 ml, and `pinch` is read as a pico-inch.
A volume becomes grams by the ingredient's density, a piece by its weight, a
portion by the dish's weight; where that figure is unknown there is no conversion.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

MASSES = ("g", "kg")
VOLUMES = ("ml", "l", "tsp", "tbsp", "cup")
EACH = "each"
PORTION = "portion"
UNITS = (*MASSES, *VOLUMES, EACH, PORTION)
"""Every unit that a table may use."""

TSP_ML = 5.0
"""The metric teaspoon, the same in every country that uses one."""

AVOIRDUPOIS_G = {"oz": 28.349523125, "lb": 453.59237}
"""Grams of what recipes from elsewhere weigh in: exact by the international agreement of
1959 (NIST Special Publication 811, appendix B.8). No table may use them."""


class NotConvertible(ValueError):
    """An amount that cannot become grams; the message is what to mend."""


@dataclass(frozen=True)
class Measures:
    """What a cup and a tablespoon hold in this cafe, in millilitres."""

    cup_ml: float = 250.0
    tbsp_ml: float = 20.0


def grams_of_ingredient(
    qty: float,
    unit: str,
    measures: Measures,
    g_per_ml: float | None = None,
    piece_g: float | None = None,
) -> float:
    """Grams of `qty` `unit` of an ingredient.

    `g_per_ml` is its density, `piece_g` the weight of one piece; None is unknown.
    Raises NotConvertible.
    """
    if unit in MASSES:
        return qty * _factor(unit, "g", measures)
    if unit in VOLUMES:
        if g_per_ml is None:
            raise NotConvertible("its weight per millilitre is unknown; add g_per_ml")
        return millilitres(qty, unit, measures) * g_per_ml
    if unit == EACH:
        if piece_g is None:
            raise NotConvertible("the weight of one piece is unknown; add piece_g")
        return qty * piece_g
    if unit == PORTION:
        raise NotConvertible("only dishes are counted in portions; use g, kg, ml, l or each")
    raise NotConvertible(f"not a unit; use one of {', '.join(UNITS)}")


def grams_of_dish(qty: float, unit: str, measures: Measures, portion_g: float) -> float:
    """Grams of `qty` `unit` of a finished dish of `portion_g` a portion. Raises NotConvertible."""
    if unit in MASSES:
        return qty * _factor(unit, "g", measures)
    if unit == PORTION:
        return qty * portion_g
    if unit in UNITS:
        raise NotConvertible("a cooked dish is measured in g, kg or portion")
    raise NotConvertible(f"not a unit; use one of {', '.join((*MASSES, PORTION))}")


def millilitres(qty: float, unit: str, measures: Measures) -> float:
    """Millilitres of `qty` of a unit of volume. Raises NotConvertible."""
    if unit not in VOLUMES:
        raise NotConvertible(f"not a volume; use one of {', '.join(VOLUMES)}")
    return qty * _factor(unit, "ml", measures)


@lru_cache(maxsize=256)
def _factor(unit: str, base: str, measures: Measures) -> float:
    """How many `base` one `unit` holds."""
    from pint import UnitRegistry  # 0.3 s to import, so only when something is converted

    registry: UnitRegistry[float] = UnitRegistry(None)
    for definition in (
        "g = [mass]",
        "kg = 1000 g",
        "ml = [volume]",
        "l = 1000 ml",
        f"tsp = {TSP_ML!r} ml",
        f"tbsp = {measures.tbsp_ml!r} ml",
        f"cup = {measures.cup_ml!r} ml",
    ):
        registry.define(definition)
    return float(registry.Quantity(1.0, unit).to(base).magnitude)
