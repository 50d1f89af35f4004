"""What follows from a dish's lines: grams, protein, salt, fibre, labels, colours, cost.

Nothing here is typed in twice. Cooked components are flattened into their
ingredients, so that a dish reads the same whether its quinoa is a line of its
own or comes out of a component cooked the day before. All amounts are per
portion. A cafe's dishes must not contain themselves (`tables` refuses that).
"""

from __future__ import annotations

import weakref
from collections.abc import Callable
from dataclasses import dataclass

from optimiser.allergens import KNOWN_ALLERGENS, AllergenLabel, Answer, fits, label_of
from optimiser.cafe import Cafe, Dish, Ingredient, Line

__all__ = [
    "KNOWN_ALLERGENS",
    "AllergenLabel",
    "Answer",
    "Part",
    "PortionCosts",
    "allergens",
    "colours",
    "diet",
    "edible_parts",
    "fibre_g",
    "fibre_unknown",
    "hero",
    "main_colour",
    "parts",
    "portion_costs",
    "protein_g",
    "protein_unknown",
    "proteins_g",
    "salt_g",
    "salt_unknown",
    "veg_groups",
]

COLOUR_SHARE = 0.08
"""A colour counts from this share of the visible coloured mass."""

SALT_PER_SODIUM = 2.5
"""Salt = sodium x 2.5: EU Regulation 1169/2011, Annex I."""

NEVER_HERO = frozenset({"oil", "spice", "water", "salt", "pantry", "sauce"})
"""Groups that carry a dish but do not name it."""

_TIE_DIGITS = 6  # grams closer than a microgram are equal: sums differ by rounding


@dataclass(frozen=True)
class Part:
    """Grams of one ingredient in one portion; `visible_g` of the edible grams."""

    edible_g: float
    purchased_g: float
    visible_g: float

    def __add__(self, other: Part) -> Part:
        return Part(
            self.edible_g + other.edible_g,
            self.purchased_g + other.purchased_g,
            self.visible_g + other.visible_g,
        )


@dataclass(frozen=True)
class PortionCosts:
    """Cents of one portion: paying for what is bought, or only for what is eaten."""

    purchased_cents: float
    edible_cents: float

    def food_cost_pct(self, price_cents: float) -> float | None:
        """Percent of the price that the food costs as purchased; None without a price."""
        return 100.0 * self.purchased_cents / price_cents if price_cents > 0 else None

    def price_cents_for(self, food_cost_pct: float) -> float:
        """The price at which the food as purchased is `food_cost_pct` (> 0) of it."""
        return 100.0 * self.purchased_cents / food_cost_pct


# Cafes hold dicts and so cannot be hashed: the cache goes by identity, and an
# entry dies with its cafe.
_parts_of_cafe: dict[int, dict[str, dict[str, Part]]] = {}


def parts(cafe: Cafe, dish_id: str) -> dict[str, Part]:
    """Ingredient -> grams per portion, components flattened. KeyError if no such dish."""
    known = _parts_of_cafe.get(id(cafe))
    if known is None:
        known = _parts_of_cafe.setdefault(id(cafe), {})
        weakref.finalize(cafe, _parts_of_cafe.pop, id(cafe), None)
    if dish_id not in known:
        known[dish_id] = _flatten(cafe, cafe.dishes[dish_id])
    return dict(known[dish_id])


def _flatten(cafe: Cafe, dish: Dish) -> dict[str, Part]:
    total: dict[str, Part] = {}
    for line in dish.lines:
        for item, part in _line_parts(cafe, line, 1.0 / dish.portions).items():
            total[item] = total[item] + part if item in total else part
    return total


def _line_parts(cafe: Cafe, line: Line, scale: float) -> dict[str, Part]:
    """One line's parts, times `scale`. A component line weighs finished food."""
    component = cafe.dishes.get(line.item)
    if component is None:
        edible_g = line.edible_g * scale
        visible_g = edible_g if line.visible else 0.0
        return {line.item: Part(edible_g, line.purchased_g * scale, visible_g)}
    times = line.edible_g * scale / component.portion_g
    return {
        item: Part(
            part.edible_g * times,
            part.purchased_g * times,
            part.visible_g * times if line.visible else 0.0,
        )
        for item, part in parts(cafe, component.id).items()
    }


def _ingredients(cafe: Cafe, dish_id: str) -> list[Ingredient]:
    return [cafe.ingredients[item] for item in parts(cafe, dish_id)]


def edible_parts(cafe: Cafe, dish_id: str) -> dict[str, float]:
    """Ingredient -> edible grams per portion, components flattened."""
    return {item: part.edible_g for item, part in parts(cafe, dish_id).items()}


def portion_costs(cafe: Cafe, dish_id: str, per_g: Callable[[str], float]) -> PortionCosts:
    """Cost of one portion; `per_g` gives cents per purchased gram of an ingredient.

    purchased = sum of purchased_g x per_g; edible = sum of edible_g x per_g.
    """
    priced = [(part, per_g(item)) for item, part in parts(cafe, dish_id).items()]
    return PortionCosts(
        purchased_cents=sum(part.purchased_g * cents for part, cents in priced),
        edible_cents=sum(part.edible_g * cents for part, cents in priced),
    )


def proteins_g(cafe: Cafe, dish_id: str) -> dict[str, float]:
    """Ingredient -> grams of protein per portion, where known."""
    return {
        item: part.edible_g * known / 100.0
        for item, part in parts(cafe, dish_id).items()
        if (known := cafe.ingredients[item].protein_g) is not None
    }


def protein_g(cafe: Cafe, dish_id: str) -> float:
    """Protein per portion: sum of edible_g x protein_g / 100 over what is known."""
    return sum(proteins_g(cafe, dish_id).values())


def protein_unknown(cafe: Cafe, dish_id: str) -> tuple[str, ...]:
    """Ingredients whose protein nobody has entered, sorted."""
    return tuple(sorted(one.id for one in _ingredients(cafe, dish_id) if one.protein_g is None))


def salt_g(cafe: Cafe, dish_id: str) -> float:
    """Salt per portion: sum of edible_g x sodium_mg / 100 / 1000 x 2.5 over what is known."""
    sodium_mg = sum(
        part.edible_g * known / 100.0
        for item, part in parts(cafe, dish_id).items()
        if (known := cafe.ingredients[item].sodium_mg) is not None
    )
    return sodium_mg / 1000.0 * SALT_PER_SODIUM


def salt_unknown(cafe: Cafe, dish_id: str) -> tuple[str, ...]:
    """Ingredients whose sodium nobody has entered, sorted."""
    return tuple(sorted(one.id for one in _ingredients(cafe, dish_id) if one.sodium_mg is None))


def fibre_g(cafe: Cafe, dish_id: str) -> float:
    """Fibre per portion: sum of edible_g x fibre_g / 100 over what is known."""
    return sum(
        part.edible_g * known / 100.0
        for item, part in parts(cafe, dish_id).items()
        if (known := cafe.ingredients[item].fibre_g) is not None
    )


def fibre_unknown(cafe: Cafe, dish_id: str) -> tuple[str, ...]:
    """Ingredients whose fibre nobody has entered, sorted."""
    return tuple(sorted(one.id for one in _ingredients(cafe, dish_id) if one.fibre_g is None))


def allergens(cafe: Cafe, dish_id: str) -> AllergenLabel:
    """The dish's label: what it contains, from which ingredients, and what is unread."""
    return label_of(_ingredients(cafe, dish_id))


def diet(cafe: Cafe, dish_id: str, diet: str) -> Answer:
    """Whether a dish is `vegan`, `gluten_free`, `nut_free`; `unknown` is not `yes`."""
    return fits(diet, _ingredients(cafe, dish_id))


def _heaviest_first(grams: dict[str, float]) -> tuple[str, ...]:
    """Keys by falling mass, ties by name."""
    return tuple(sorted(grams, key=lambda key: (-round(grams[key], _TIE_DIGITS), key)))


def colours(cafe: Cafe, dish_id: str) -> tuple[str, ...]:
    """Visible colours of at least COLOUR_SHARE of the visible coloured mass.

    Most mass first, ties by name. A visible component shows its own visible lines.
    """
    return _kinds_seen(cafe, dish_id, lambda ingredient: ingredient.colour)


def _kinds_seen(
    cafe: Cafe, dish_id: str, kind_of: Callable[[Ingredient], str | None]
) -> tuple[str, ...]:
    """Kinds of at least COLOUR_SHARE of the visible mass that has a kind."""
    grams: dict[str, float] = {}
    for item, part in parts(cafe, dish_id).items():
        kind = kind_of(cafe.ingredients[item])
        if kind and part.visible_g > 0:
            grams[kind] = grams.get(kind, 0.0) + part.visible_g
    least_g = COLOUR_SHARE * sum(grams.values()) - 10.0**-_TIE_DIGITS
    return _heaviest_first({kind: mass for kind, mass in grams.items() if mass >= least_g})


def main_colour(cafe: Cafe, dish_id: str) -> str | None:
    """The colour with most visible mass; None for a dish that shows none."""
    return next(iter(colours(cafe, dish_id)), None)


def hero(cafe: Cafe, dish_id: str) -> str | None:
    """The visible ingredient of greatest edible mass outside NEVER_HERO groups."""
    grams = {
        item: part.visible_g
        for item, part in parts(cafe, dish_id).items()
        if part.visible_g > 0 and cafe.ingredients[item].group not in NEVER_HERO
    }
    return next(iter(_heaviest_first(grams)), None)


def veg_groups(cafe: Cafe, dish_id: str) -> tuple[str, ...]:
    """Vegetable groups of at least COLOUR_SHARE of the visible mass that has a group.

    Most mass first, ties by name. An ingredient without a group is unknown or no
    vegetable, and counts as none.
    """
    return _kinds_seen(cafe, dish_id, lambda ingredient: ingredient.veg_group)
