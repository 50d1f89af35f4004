"""Rows of ingredients, suppliers and offers into facts.

A row with a faulty cell still yields its fact, with a default in that place, so
that other tables can refer to it; such facts never leave `read_folder`.
"""

from __future__ import annotations

from typing import Any

from optimiser.allergens import ALL_ALLERGENS
from optimiser.cafe import NO_LIMIT_DAYS, DatedPrice, Form, Ingredient, Offer, Supplier
from optimiser.table_amounts import Pantry, knows, to_grams, whole_pieces
from optimiser.table_faults import Findings
from optimiser.table_rows import Row, Table
from optimiser.table_schema import AMINO_COLUMNS
from optimiser.units import Measures


def read_ingredients(table: Table, pantry: Pantry) -> None:
    """Fill `pantry.ingredients` by id."""
    for row in table.rows:
        if not row.has("ingredient") or row.values["ingredient"] in pantry.ingredients:
            continue
        item = row.values["ingredient"]
        form = Form(row.get("form", Form.LOOSE))
        if form is Form.WHOLE and row.is_blank("piece_g"):
            table.fault(row, "piece_g", "a whole thing needs the weight of one piece; add it")
        if row.bad & {"form", "piece_g", "g_per_ml"}:
            pantry.unsure.add(item)
        if row.is_blank("yield_pct"):
            table.findings.note("ingredients.csv: yield_pct blank, taken as 100", item)
        for name in sorted(row.get("allergens", frozenset()) - ALL_ALLERGENS):
            hint = table.findings.nearest.hint("allergen", name, ALL_ALLERGENS)
            sentence = f"ingredients.csv: allergen {name!r} is on neither the EU nor the ANZ list"
            table.findings.note(f"{sentence}, so diets are unknown{hint}", item)
        keeps = _life(table.findings, row, "keeps_days", form)
        opened = _life(table.findings, row, "opened_keeps_days", form)
        pantry.ingredients[item] = Ingredient(
            id=item,
            name=row.get("name", item),
            group=row.get("group", ""),
            colour=row.get("colour"),
            form=form,
            piece_g=row.get("piece_g"),
            yield_pct=row.get("yield_pct", 100.0),
            g_per_ml=row.get("g_per_ml"),
            keeps_days=keeps,
            opened_keeps_days=min(opened, keeps),
            protein_g=row.get("protein_g"),
            amino_mg_per_g_protein={
                name: row.get(column)
                for name, column in AMINO_COLUMNS.items()
                if row.has(column)
            },
            sodium_mg=row.get("sodium_mg"),
            fibre_g=row.get("fibre_g"),
            veg_group=row.get("veg_group"),
            fridge_l_per_kg=row.get("fridge_l_per_kg"),
            allergens=row.get("allergens"),
            diets_excluded=row.get("diets_excluded", frozenset()),
            months=row.get("months", frozenset()),
            source=row.get("source", ""),
        )


def _life(findings: Findings, row: Row, column: str, form: Form) -> int:
    """Days of a life; blank is one day, and no limit only for dry goods."""
    if row.is_blank(column):
        dry = form is Form.DRY
        taken = "no limit of its own (dry goods)" if dry else "1 day"
        findings.note(f"ingredients.csv: {column} blank, taken as {taken}", row.get("ingredient"))
        return NO_LIMIT_DAYS if dry else 1
    days: int = row.get(column, 1)
    return days


def read_suppliers(table: Table, pantry: Pantry) -> None:
    """Fill `pantry.suppliers` by id."""
    for row in table.rows:
        if not row.has("supplier") or row.values["supplier"] in pantry.suppliers:
            continue
        ident = row.values["supplier"]
        for column in ("lead_days", "minimum_order", "delivery_fee"):
            if row.is_blank(column):
                table.findings.note(f"suppliers.csv: {column} blank, taken as 0", ident)
        delivers = row.get("delivers", ())
        pantry.suppliers[ident] = Supplier(
            id=ident,
            name=row.get("name", ident),
            delivers=frozenset(day for day in delivers if isinstance(day, int)),
            delivers_on=frozenset(day for day in delivers if not isinstance(day, int)),
            lead_days=row.get("lead_days", 0),
            minimum_order_cents=row.get("minimum_order", 0),
            delivery_fee_cents=row.get("delivery_fee", 0),
            cut_off=row.get("cut_off"),
        )


def read_offers(
    table: Table, pantry: Pantry, measures: Measures, complete: tuple[bool, bool]
) -> tuple[Offer, ...]:
    """Offers with their dated prices; `complete` says so of ingredients and suppliers."""
    groups: dict[tuple[str, str, float, str], list[Row]] = {}
    for row in table.rows:
        item = knows(table, row, "ingredient", pantry.ingredients, complete[0], "ingredient")
        supplier = knows(table, row, "supplier", pantry.suppliers, complete[1], "supplier")
        if item and supplier and row.has("pack_qty", "pack_unit", "price"):
            pack = (row.get("ingredient"), row.get("supplier"), row.get("pack_qty"))
            groups.setdefault((*pack, row.get("pack_unit")), []).append(row)
    offers = []
    for (item_id, supplier_id, qty, unit), rows in groups.items():
        ingredient = pantry.ingredients[item_id]
        grams = to_grams(table, rows[0], pantry, ingredient, qty, unit, measures, "pack")
        if grams is None:
            continue
        prices = [
            DatedPrice(from_date=row.get("from_date"), price_cents=row.get("price")) for row in rows
        ]
        offers.append(
            Offer(
                ingredient=item_id,
                supplier=supplier_id,
                pack_qty=qty,
                pack_unit=unit,
                pack_g=grams,
                pieces=whole_pieces(table, rows[0], pantry, ingredient, grams, "pack") or 0,
                prices=tuple(sorted(prices, key=_price_order)),
            )
        )
    return tuple(offers)


def _price_order(price: DatedPrice) -> tuple[bool, Any]:
    return price.from_date is not None, price.from_date
