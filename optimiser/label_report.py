"""Cabinet labels: what is in a dish, what nobody knows of it, how and until when to serve it.

Nothing here says that a dish is free of anything: it says that no ingredient
with it was used, and only when every label has been read. Protein, salt and fibre are
grams in a portion, by the recipe as written: a number where every ingredient's figure is
known, `at least 1.2, rest unknown` where some are, `unknown` where none is.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from optimiser import nutrition
from optimiser.allergens import DIET_WORDS, TRACES, UNKNOWN
from optimiser.cafe import Cafe
from optimiser.food_code import CODES, FoodCode
from optimiser.formats import bare_day
from optimiser.plan import Cook, Plan
from optimiser.report_base import Cell, Row, cook_use_by, listed, lot_lives

LABEL_COLUMNS = (
    "dish",
    "name",
    "course",
    "cooked_on",
    "use_by",
    "shown_on",
    "contains",
    "labels_not_read",
    "vegan",
    "gluten",
    "nuts",
    "protein_g",
    "salt_g",
    "fibre_g",
    "storage",
    "caution",
)
CHECK_LABELS = (
    f"Check the product labels; {TRACES} are not known here; local food-safety code decides."
)
NOT_READ = "Allergens unknown: not every product label has been read."


def label_rows(plan: Plan, cafe: Cafe) -> list[Row]:
    """One label per cook, in the order of the cooks; parts kept for other dishes too."""
    return [_label(plan, cafe, cook) for cook in plan.cooks]


def unread_dishes(plan: Plan, cafe: Cafe) -> dict[str, tuple[str, ...]]:
    """Dishes shown of which some label is unread -> the names of those ingredients."""
    found = {}
    for dish in dict.fromkeys(row.dish for row in plan.shown):
        unread = nutrition.allergens(cafe, dish).unknown_from
        if unread:
            found[dish] = tuple(cafe.name_of(item) for item in unread)
    return found


def _label(plan: Plan, cafe: Cafe, cook: Cook) -> Row:
    dish = cafe.dishes[cook.dish]
    use_by = cook_use_by(plan, cafe, lot_lives(plan, cafe), dish.id, cook.date)
    label: Row = {
        "dish": dish.id,
        "name": dish.name,
        "course": dish.course,
        "cooked_on": cook.date,
        "use_by": use_by,
        "shown_on": listed(bare_day(day) for day in cook.shown),
    }
    return label | dish_label(cafe, dish.id, keeps=use_by > cook.date)


def dish_label(cafe: Cafe, dish_id: str, keeps: bool) -> Row:
    """What every label of a dish says, whenever it is cooked. `keeps`: past its own day."""
    label = nutrition.allergens(cafe, dish_id)
    contains = [
        f"{allergen.replace('_', ' ')} ({', '.join(cafe.name_of(item) for item in items)})"
        for allergen, items in label.contains_from.items()
    ]
    unread = [cafe.name_of(item) for item in label.unknown_from]
    if unread:
        contains.append(f"{UNKNOWN} for {', '.join(unread)}")
    return {
        "contains": listed(contains) or "none named on the labels",
        "labels_not_read": listed(unread),
        "vegan": _diet(cafe, dish_id, "vegan"),
        "gluten": _diet(cafe, dish_id, "gluten_free"),
        "nuts": _diet(cafe, dish_id, "nut_free"),
        "protein_g": _grams(cafe, dish_id, nutrition.protein_g, nutrition.protein_unknown, 1),
        "salt_g": _grams(cafe, dish_id, nutrition.salt_g, nutrition.salt_unknown, 2),
        "fibre_g": _grams(cafe, dish_id, nutrition.fibre_g, nutrition.fibre_unknown, 1),
        "storage": _storage(CODES[cafe.regime], cafe.dishes[dish_id].served_as, keeps),
        "caution": f"{NOT_READ} {CHECK_LABELS}" if unread else CHECK_LABELS,
    }


def _storage(code: FoodCode, served_as: str, keeps: bool) -> str:
    """How to hold it; what is cooked hot and kept is cooled and reheated."""
    either = f"{code.hot} Or: {code.cold[0].lower()}{code.cold[1:]}"
    words = {"hot": code.hot, "cold": code.cold}.get(served_as, either)
    return f"{words} {code.keep}" if keeps and served_as != "cold" else words


def _diet(cafe: Cafe, dish: str, diet: str) -> str:
    return DIET_WORDS[diet][nutrition.diet(cafe, dish, diet)]


def _grams(
    cafe: Cafe,
    dish: str,
    known_g: Callable[[Cafe, str], float],
    unknown: Callable[[Cafe, str], tuple[str, ...]],
    places: int,
) -> Cell:
    """Grams in a portion to so many decimal places; what is only known in part rounds down."""
    grams, missing = known_g(cafe, dish), unknown(cafe, dish)
    if not missing:
        return round(grams, places)
    if len(missing) == len(nutrition.parts(cafe, dish)):
        return UNKNOWN
    step = 10**places
    return f"at least {math.floor(grams * step + 1e-6) / step:g}, rest {UNKNOWN}"
