"""What follows from a dish's recipe, as rows and words for a page; nothing is solved.

Every number comes from `nutrition`, `amino`, `allergens`, `costs` and `label_report`. What
is known in part is `at least`; what nobody has read is unknown and never `free from`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from optimiser import amino, nutrition
from optimiser.allergens import ALL_ALLERGENS, DIET_TOPIC, DIET_WORDS, UMBRELLAS
from optimiser.cafe import Cafe, Dish, Line
from optimiser.costs import Costs
from optimiser.label_report import dish_label
from optimiser.report_base import Row, listed, money_text

PATTERN = "fao_2013_adult"
"""The scoring pattern that a dish is shown by."""

CONTAINS, MAY_CONTAIN, NOT_READ = "contains", "may contain", "unknown"


@dataclass(frozen=True)
class DishCost:
    """Ingredients of a portion at one day's prices; `unpriced`: names nobody sells."""

    portion_cents: float
    price_cents: int
    lines: tuple[Row, ...]
    unpriced: tuple[str, ...]

    @property
    def food_cost_pct(self) -> float | None:
        """Percent of the price that the ingredients cost; None without a price, or where
        some cost is unknown."""
        if self.price_cents <= 0 or self.unpriced:
            return None
        return 100.0 * self.portion_cents / self.price_cents


def dish_cost(cafe: Cafe, dish_id: str, day: date) -> DishCost:
    """The cost of a portion and of each of its lines, at the cheapest offers of `day`."""
    dish, costs = cafe.dishes[dish_id], Costs(cafe, day)
    lines = tuple(_cost_row(cafe, dish, line, costs) for line in dish.lines)
    bought = nutrition.parts(cafe, dish_id)
    return DishCost(
        portion_cents=costs.portion_cents(dish_id),
        price_cents=cafe.price_cents(dish),
        lines=lines,
        unpriced=_names(cafe, (item for item in bought if not cafe.offers_of.get(item))),
    )


def _cost_row(cafe: Cafe, dish: Dish, line: Line, costs: Costs) -> Row:
    """One line: what a portion takes of it and what that costs; blank where nobody sells it."""
    is_dish = line.item in cafe.dishes
    grams = (line.edible_g if is_dish else line.purchased_g) / dish.portions
    known = all(cafe.offers_of.get(item) for item in _bought_for(cafe, line.item))
    return {
        "item": cafe.name_of(line.item),
        "grams": round(grams, 1),
        "cents": round(grams * costs.per_g(line.item), 2) if known else None,
    }


def _bought_for(cafe: Cafe, item: str) -> Iterable[str]:
    return nutrition.parts(cafe, item) if item in cafe.dishes else (item,)


def cost_words(cost: DishCost, currency: str) -> str:
    """`$1.84 a portion`; `at least` where some of it has no price."""
    least = "at least " if cost.unpriced else ""
    return f"{least}{money_text(cost.portion_cents, currency)} a portion"


def nutrient_rows(cafe: Cafe, dish_id: str) -> list[Row]:
    """Protein, amino score, salt and fibre of a portion, as its label has them, each with
    the names of what is unknown in it."""
    label = dish_label(cafe, dish_id, keeps=False)
    return [
        _nutrient(cafe, "Protein", label["protein_g"], nutrition.protein_unknown(cafe, dish_id)),
        _amino(cafe, dish_id),
        _nutrient(cafe, "Fibre", label["fibre_g"], nutrition.fibre_unknown(cafe, dish_id)),
        _nutrient(cafe, "Salt", label["salt_g"], nutrition.salt_unknown(cafe, dish_id)),
    ]


def _nutrient(cafe: Cafe, what: str, grams: object, unknown: Iterable[str]) -> Row:
    words = f"{grams:g} g" if isinstance(grams, int | float) else _with_grams(str(grams))
    return {"what": what, "portion": words, "unknown": listed(_names(cafe, unknown))}


def _with_grams(words: str) -> str:
    """`at least 1.2, rest unknown` with its unit."""
    least, comma, rest = words.partition(",")
    return f"{least} g{comma}{rest}" if comma else words


def _amino(cafe: Cafe, dish_id: str) -> Row:
    pattern = amino.PATTERNS[PATTERN]
    found = amino.score(cafe, {dish_id: 1.0}, pattern)
    words = NOT_READ if nutrition.protein_g(cafe, dish_id) > 0 else "no protein known"
    if found is not None:
        words = f"{found.value:.2f}, least of {amino.ACID_WORDS[found.limiting]}"
    unknown = _names(cafe, amino.amino_unknown(cafe, dish_id, pattern))
    return {
        "what": f"Amino score ({amino.PATTERN_WORDS[PATTERN]})",
        "portion": words,
        "unknown": listed(unknown),
    }


def allergen_rows(cafe: Cafe, dish_id: str) -> list[Row]:
    """What is in a dish, what may be, and what nobody knows; as `AllergenLabel.free_of` has it.

    `contains`: a label names it. `may contain`: a label gives only the wider name.
    `unknown`: a label is not read or names what no list knows: any other may be in it.
    """
    label = nutrition.allergens(cafe, dish_id)
    rows = [
        _allergen(CONTAINS, [name], _names(cafe, items))
        for name, items in label.contains_from.items()
    ]
    wide = sorted(label.contains & UMBRELLAS.keys())
    narrow = frozenset().union(*(UMBRELLAS[name] for name in wide)) - label.contains
    if narrow:
        found_in = {item for name in wide for item in label.contains_from[name]}
        rows.append(_allergen(MAY_CONTAIN, sorted(narrow), _names(cafe, sorted(found_in))))
    strange = sorted(label.contains - ALL_ALLERGENS)
    if label.unknown_from:
        rows.append(_allergen(NOT_READ, ["any other"], _names(cafe, label.unknown_from)))
    elif strange:
        said = [f"{_plain(name)} is on no list" for name in strange]
        rows.append(_allergen(NOT_READ, ["any other"], said))
    return rows


def _allergen(state: str, names: Iterable[str], found_in: Iterable[str]) -> Row:
    return {"state": state, "allergen": listed(map(_plain, names)), "from": listed(found_in)}


def diet_rows(cafe: Cafe, dish_id: str) -> list[Row]:
    """What the label says of each diet, and the answer behind it: yes, no or unknown."""
    return [
        {
            "diet": DIET_TOPIC[diet],
            "says": DIET_WORDS[diet][nutrition.diet(cafe, dish_id, diet)],
            "answer": nutrition.diet(cafe, dish_id, diet),
        }
        for diet in DIET_WORDS
    ]


def label_lines(cafe: Cafe, dish_id: str) -> list[Row]:
    """The label of the dish as it prints; days of use are added when it is cooked."""
    label = dish_label(cafe, dish_id, keeps=cafe.dishes[dish_id].hold_days > 1)
    return [
        {"line": column.replace("_", " "), "says": str(text)}
        for column, text in label.items()
        if text != ""
    ]


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _names(cafe: Cafe, items: Iterable[str]) -> tuple[str, ...]:
    return tuple(cafe.name_of(item) for item in items)
