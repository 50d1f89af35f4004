"""Rows of the stock count into lots."""

from __future__ import annotations

from optimiser.cafe import Dish, Form, Ingredient, Lot, State
from optimiser.table_amounts import Pantry, knows, to_grams, whole_pieces
from optimiser.table_rows import Row, Table
from optimiser.units import Measures


def read_stock(
    table: Table, pantry: Pantry, dishes: dict[str, Dish], complete: bool, measures: Measures
) -> tuple[Lot, ...]:
    """One lot a row, named `stock-<n>` by its count below the header."""
    known: dict[str, Ingredient | Dish] = {**pantry.ingredients, **dishes}
    lots = []
    for row in table.rows:
        if not knows(table, row, "item", known, complete, "ingredient or dish"):
            continue
        thing = known[row.get("item")]
        _check_lot(table, row, thing)
        if not row.has("qty", "unit", "state") or row.bad - {"use_by"}:
            continue
        qty, unit, state = row.get("qty"), row.get("unit"), State(row.get("state"))
        grams = to_grams(table, row, pantry, thing, qty, unit, measures)
        if grams is None:
            continue
        units = 0
        if isinstance(thing, Ingredient) and state is State.WHOLE:
            pieces = whole_pieces(table, row, pantry, thing, grams, "lot")
            if pieces is None:
                continue
            units = pieces
            # What is short of a full piece is not counted on.
            grams = units * thing.piece_g if units and thing.piece_g else grams
        lots.append(
            Lot(
                id=f"stock-{row.count}",
                item=thing.id,
                state=state,
                qty=qty,
                unit=unit,
                grams=grams,
                units=units,
                use_by=row.get("use_by"),
            )
        )
    return tuple(lots)


def _check_lot(table: Table, row: Row, thing: Ingredient | Dish) -> None:
    """Faults of a lot that does not fit what it is a lot of."""
    state = row.get("state")
    if isinstance(thing, Dish) and state in ("whole", "opened"):
        table.fault(row, "state", f"{thing.id} is a dish; its state is cooked")
    if isinstance(thing, Ingredient) and state == "cooked":
        table.fault(row, "state", f"{thing.id} is an ingredient; its state is whole or opened")
    dry = isinstance(thing, Ingredient) and thing.form is Form.DRY
    if row.is_blank("use_by") and not dry:
        table.fault(row, "use_by", "must not be blank; write the date on the label")
