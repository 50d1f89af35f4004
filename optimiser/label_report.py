"""Cabinet labels: what is in a dish, what nobody knows of it, how and until when to serve it.

Nothing here says that a dish is free of anything: it says that no ingredient
with it was used, and only when every label has been read.
"""

from __future__ import annotations

from optimiser import nutrition
from optimiser.allergens import DIET_WORDS, TRACES, UNKNOWN
from optimiser.cafe import Cafe
from optimiser.plan import Cook, Plan
from optimiser.report_base import Row, cook_use_by, listed, lot_lives

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
    "storage",
    "caution",
)
HOT = "Keep hot at 60 °C or above."
COLD = "Keep cold at 5 °C or below."
KEEP = (
    "To keep it for another day cool it from 60 to 21 °C within 2 hours and to 5 °C within "
    "4 more; reheat until steaming hot throughout."
)
STORAGE = {"hot": HOT, "cold": COLD}
"""By `served_as`; temperatures of Standard 3.2.2."""

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
    label = nutrition.allergens(cafe, dish.id)
    contains = [
        f"{allergen} ({', '.join(cafe.name_of(item) for item in items)})"
        for allergen, items in label.contains_from.items()
    ]
    unread = [cafe.name_of(item) for item in label.unknown_from]
    if unread:
        contains.append(f"{UNKNOWN} for {', '.join(unread)}")
    use_by = cook_use_by(plan, cafe, lot_lives(plan, cafe), dish.id, cook.date)
    return {
        "dish": dish.id,
        "name": dish.name,
        "course": dish.course,
        "cooked_on": cook.date,
        "use_by": use_by,
        "shown_on": listed(day.isoformat() for day in cook.shown),
        "contains": listed(contains) or "none named on the labels",
        "labels_not_read": listed(unread),
        "vegan": _diet(cafe, dish.id, "vegan"),
        "gluten": _diet(cafe, dish.id, "gluten_free"),
        "nuts": _diet(cafe, dish.id, "nut_free"),
        "storage": _storage(dish.served_as, keeps=use_by > cook.date),
        "caution": f"{NOT_READ} {CHECK_LABELS}" if unread else CHECK_LABELS,
    }


def _storage(served_as: str, keeps: bool) -> str:
    """How to hold it; what is cooked hot and kept is cooled and reheated."""
    words = STORAGE.get(served_as, f"{HOT} Or: {COLD[0].lower()}{COLD[1:]}")
    return f"{words} {KEEP}" if keeps and served_as != "cold" else words


def _diet(cafe: Cafe, dish: str, diet: str) -> str:
    return DIET_WORDS[diet][nutrition.diet(cafe, dish, diet)]
