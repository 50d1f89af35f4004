"""Finding dishes and ingredients by name, course, colour and allergen."""

from __future__ import annotations

from collections.abc import Iterable

from optimiser import nutrition
from optimiser.cafe import Cafe, Dish, Ingredient
from optimiser.name_match import words

ANY = "any"
UNREAD = "labels not all read"
CONTAINS = "contains "


def allergens_used(cafe: Cafe) -> list[str]:
    """Allergens that some label of the cafe names."""
    return sorted({name for one in cafe.ingredients.values() for name in one.allergens or ()})


def colours_used(cafe: Cafe) -> list[str]:
    """Colours of the ingredients."""
    return sorted({one.colour for one in cafe.ingredients.values() if one.colour})


def allergen_choices(cafe: Cafe) -> list[str]:
    """What `dishes_found` may be asked for: nothing is offered as `free from`."""
    return [ANY, UNREAD, *(CONTAINS + name for name in allergens_used(cafe))]


def dishes_found(
    cafe: Cafe, text: str = "", course: str = ANY, colour: str = ANY, allergen: str = ANY
) -> list[Dish]:
    """Dishes by name: all words of `text` begin a word of the name or of an ingredient's.

    `colour`: one that the dish shows; `allergen`: of `allergen_choices`.
    """
    found = [
        dish
        for dish in cafe.dishes.values()
        if course in (ANY, dish.course)
        and (colour == ANY or colour in nutrition.colours(cafe, dish.id))
        and _has(cafe, dish.id, allergen)
        and _speaks_of(text, [dish.name, *map(cafe.name_of, nutrition.parts(cafe, dish.id))])
    ]
    return sorted(found, key=lambda dish: dish.name.casefold())


def ingredients_found(cafe: Cafe, text: str = "", allergen: str = ANY) -> list[Ingredient]:
    """Ingredients by name."""
    found = [
        one
        for one in cafe.ingredients.values()
        if _speaks_of(text, [one.name, one.group]) and _names(one, allergen)
    ]
    return sorted(found, key=lambda one: one.name.casefold())


def dishes_with(cafe: Cafe, ingredient: str) -> list[tuple[Dish, float]]:
    """Dishes that hold an ingredient, also in a part, and edible grams of it in a portion."""
    grams = {
        dish.id: nutrition.edible_parts(cafe, dish.id).get(ingredient)
        for dish in cafe.dishes.values()
    }
    found = [(cafe.dishes[ident], amount) for ident, amount in grams.items() if amount is not None]
    return sorted(found, key=lambda pair: pair[0].name.casefold())


def _has(cafe: Cafe, dish: str, allergen: str) -> bool:
    label = nutrition.allergens(cafe, dish)
    if allergen == UNREAD:
        return bool(label.unknown_from)
    return allergen == ANY or allergen.removeprefix(CONTAINS) in label.contains


def _names(ingredient: Ingredient, allergen: str) -> bool:
    if allergen == UNREAD:
        return ingredient.allergens is None
    return allergen == ANY or allergen.removeprefix(CONTAINS) in (ingredient.allergens or ())


def _speaks_of(text: str, names: Iterable[str]) -> bool:
    known = {word for name in names for word in words(name)}
    return all(any(word.startswith(asked) for word in known) for asked in words(text))
