"""What an amount in a recipe's text means for one ingredient: `2 tins` become `2 each`.

Pieces become grams by the piece weight of the tables, volumes by the density; where these
are unknown nothing is put in their place.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from optimiser.cafe import Cafe, Dish, Form, Ingredient
from optimiser.name_match import words
from optimiser.recipe_amount import CONTAINERS, FOREIGN, PARTS, PIECES, Amount
from optimiser.units import (
    AVOIRDUPOIS_G,
    EACH,
    PORTION,
    UNITS,
    Measures,
    NotConvertible,
    grams_of_dish,
    grams_of_ingredient,
)

SAME_PCT = 2.0
"""A piece and a size so near each other are the same."""

TRIM_PCT = 95.0
"""From so little trim on it does not matter whether a piece is counted with or without."""

_SIZES = re.compile(r"\b(large|small|medium|big|heaped|heaping|scant|half)\b", re.I)
_POUNDS = {"oz", "ozs", "ounce", "ounces"}, {"lb", "lbs", "pound", "pounds"}


@dataclass(frozen=True)
class Written:
    """A line taken apart; `container`: what it is sold in, `tins`."""

    amount: Amount | None = None
    container: str = ""
    name: str = ""
    note: str = ""
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Weighed:
    """`qty` in a `unit` of the tables ("" where it has none), and what is doubtful in it."""

    qty: float | None = None
    unit: str = ""
    doubts: list[str] = field(default_factory=list)


def weigh(cafe: Cafe, item: str, written: Written) -> Weighed:
    """The amount of a line in units of the tables."""
    amount = written.amount
    if amount is None:
        return Weighed()
    doubts = []
    if amount.high is not None:
        doubts.append(f"{amount.qty:g} to {amount.high:g}: the larger is taken")
    if amount.comma:
        doubts.append(f"a comma: read as {amount.qty:g}")
    qty = amount.high or amount.qty
    thing = cafe.dishes.get(item) or cafe.ingredients.get(item)
    if written.container and isinstance(thing, Ingredient) and thing.form is not Form.WHOLE:
        doubts.append(f"{thing.name} in a {written.container}? here it is weighed, not counted")
    if amount.count is not None:
        return _sized(thing, amount.count, qty, written, doubts)
    if amount.unit in FOREIGN:
        return _foreign(qty, amount.unit, doubts)
    if amount.unit in PARTS:
        return Weighed(qty, "", [*doubts, f"{qty:g} {amount.unit}: no table knows its weight"])
    if amount.unit in ("", EACH) or amount.unit in CONTAINERS | PIECES:
        return _counted(thing, qty, written, doubts)
    if "drained" in written.note and written.container:
        doubts.append("drained it weighs less than as sold: which is it?")
    return Weighed(qty, amount.unit, doubts)


def missing(cafe: Cafe, item: str, qty: float | None, unit: str) -> list[str]:
    """What is missing for a weight; nothing while there is no amount or no item."""
    if not unit:
        return ["no unit: choose one"] if qty is not None else []
    thing = cafe.dishes.get(item) or cafe.ingredients.get(item)
    if thing is None or qty is None:
        return []
    measures = Measures(cafe.cup_ml, cafe.tbsp_ml)
    try:
        if isinstance(thing, Dish):
            grams_of_dish(qty, unit, measures, thing.portion_g)
        else:
            grams_of_ingredient(qty, unit, measures, thing.g_per_ml, thing.piece_g)
    except NotConvertible as error:
        return [f"{unit} of {thing.name} cannot become grams: {error}"]
    return []


def _sized(
    thing: Ingredient | Dish | None, count: float, size: float, written: Written, doubts: list[str]
) -> Weighed:
    """`2 x 400 g tins`: two pieces of a thing sold in pieces, else 800 g."""
    unit = written.amount.unit if written.amount else ""
    if unit in FOREIGN:
        return _foreign(count * size, unit, doubts)
    piece = thing.piece_g if isinstance(thing, Ingredient) and thing.form is Form.WHOLE else None
    if piece and written.container and thing:
        said = f"{size:g} {unit}"
        same = unit == "g" and abs(size - piece) <= piece * SAME_PCT / 100
        if not same and said not in thing.name:
            doubts = [*doubts, f"{count:g} x {said}: taken as {_pieces(count)} of {piece:g} g"]
        return Weighed(count, EACH, doubts)
    if written.container and unit in UNITS and "drained" in written.note:
        doubts = [*doubts, "drained it weighs less than as sold: which is it?"]
    return Weighed(count * size, unit, doubts)


def _counted(
    thing: Ingredient | Dish | None, qty: float, written: Written, doubts: list[str]
) -> Weighed:
    """`3 carrots`, `2 tins`, `1 clove`: pieces of the tables, as far as these are the same."""
    if isinstance(thing, Dish):
        return Weighed(qty, "", [*doubts, f"{qty:g} of what? {PORTION} or grams"])
    unit = written.amount.unit if written.amount else ""
    piece = f"{thing.piece_g:g} g" if thing and thing.piece_g else "unknown weight"
    sized = _SIZES.search(f"{written.name} {written.note}")
    word = unit if unit != EACH else ""
    if thing and word and not _sold_in(thing, word):
        doubts = [*doubts, f"{qty:g} {word}: taken as {_pieces(qty)} of {piece}"]
    elif thing and sized:
        doubts = [*doubts, f"{sized[0].lower()}: a piece here is of {piece}"]
    if thing and thing.yield_pct < TRIM_PCT:
        bought = f"{thing.yield_pct:g} % of a piece is eaten"
        doubts = [*doubts, f"{bought}: counted trimmed; as bought, set yield to 100"]
    return Weighed(qty, EACH, doubts)


def _pieces(count: float) -> str:
    return f"{count:g} piece{'' if count == 1 else 's'}"


def _sold_in(thing: Ingredient, word: str) -> bool:
    """Whether the name of a whole thing says that it is sold in tins, blocks, heads."""
    asked = {"tin" if one == "can" else one for one in words(word)}
    return thing.form is Form.WHOLE and bool(asked & set(words(thing.name)))


def _foreign(qty: float, unit: str, doubts: list[str]) -> Weighed:
    """Ounces and pounds as grams, to be confirmed; pints differ from country to country."""
    for name, spelt in zip(AVOIRDUPOIS_G, _POUNDS, strict=True):
        if unit in spelt:
            grams = round(qty * AVOIRDUPOIS_G[name])
            return Weighed(grams or None, "g", [*doubts, f"{qty:g} {unit}: taken as {grams} g"])
    return Weighed(qty, "", [*doubts, f"{unit}: another size in each country; write g or ml"])
