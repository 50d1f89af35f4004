"""Names and amounts in a row: does the cafe know the thing, and what does it weigh?"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from optimiser.cafe import Dish, Form, Ingredient, Supplier
from optimiser.table_rows import Row, Table
from optimiser.table_schema import MAX_G
from optimiser.units import EACH, Measures, NotConvertible, grams_of_dish, grams_of_ingredient

PIECE_SLACK = 0.02
"""A bag of 1.98 pieces counts as two: pieces vary in weight."""


@dataclass
class Pantry:
    """Facts about what is bought. `unsure`: ingredients or dishes whose weights are faulty."""

    ingredients: dict[str, Ingredient] = field(default_factory=dict)
    suppliers: dict[str, Supplier] = field(default_factory=dict)
    unsure: set[str] = field(default_factory=set)


def knows(
    table: Table, row: Row, column: str, known: dict[str, Any], complete: bool, what: str
) -> bool:
    """Whether the cell names something known; a fault if it surely does not."""
    name = row.get(column)
    if name is None:
        return False
    if name not in known:
        if complete:
            hint = table.findings.nearest.hint(what, name, known)
            table.fault(row, column, f"no {what} of this id{hint or '; add it or change the id'}")
        return False
    return True


def to_grams(
    table: Table,
    row: Row,
    pantry: Pantry,
    thing: Ingredient | Dish,
    qty: float,
    unit: str,
    measures: Measures,
    prefix: str = "",
) -> float | None:
    """Grams of `qty` `unit` of a thing; None after a fault here or in the thing's own row."""
    column = f"{prefix}_unit" if prefix else "unit"
    try:
        if isinstance(thing, Dish):
            grams = grams_of_dish(qty, unit, measures, thing.portion_g)
        else:
            grams = grams_of_ingredient(qty, unit, measures, thing.g_per_ml, thing.piece_g)
    except NotConvertible as error:
        if thing.id not in pantry.unsure:
            table.fault(row, column, f"cannot turn {unit} of {thing.id} into grams: {error}")
        return None
    if grams > MAX_G:
        if thing.id not in pantry.unsure:
            message = f"more than {MAX_G / 1000:g} kg; mend qty or unit"
            table.fault(row, column.replace("unit", "qty"), message)
        return None
    return grams


def whole_pieces(
    table: Table, row: Row, pantry: Pantry, ingredient: Ingredient, grams: float, what: str
) -> int | None:
    """Whole pieces in an amount of a whole ingredient; 0 for others, None after a fault."""
    if ingredient.form is not Form.WHOLE or not ingredient.piece_g:
        return 0
    column = "pack_qty" if what == "pack" else "qty"
    qty, unit = row.get(column), row.get(column.replace("qty", "unit"))
    if ingredient.id in pantry.unsure:
        return None
    if unit == EACH:
        if qty == int(qty):
            return int(qty)
        table.fault(
            row,
            column,
            "a pack holds whole pieces; write a whole number"
            if what == "pack"
            else "not a whole number of pieces; list the part as its own `opened` row",
        )
        return None
    pieces = math.floor(grams / ingredient.piece_g + PIECE_SLACK)
    if pieces < 1:
        mend = "mend the pack or piece_g" if what == "pack" else "list it as `opened`"
        table.fault(row, column, f"less than one piece of {ingredient.piece_g:g} g; {mend}")
        return None
    table.findings.note(
        f"{table.schema.file}: whole things by weight, counted in full pieces",
        f"{ingredient.id} {qty:g} {unit} = {pieces}",
    )
    return pieces
