"""What the cells of a dish and of an ingredient are called on a form, with their units."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.cafe import AMINO_ACIDS, COMPONENT, VEG_GROUPS, Cafe, Form
from optimiser.table_schema import AMINO_COLUMNS


@dataclass(frozen=True)
class Field:
    """One cell. `blank`: what an empty one means; `choices`: where only some words will do."""

    column: str
    label: str
    blank: str = ""
    choices: tuple[str, ...] = ()


Groups = dict[str, tuple[Field, ...]]
"""Fields by heading, the first group always in sight."""


def dish_fields(cafe: Cafe) -> Groups:
    """The facts of a dish."""
    courses = (*cafe.courses, COMPONENT)
    return {
        "Dish": (
            Field("name", "Name"),
            Field("course", "Course", choices=courses),
            Field("price", f"Price, {cafe.currency}", "the course's"),
            Field("portions", "Recipe makes, portions"),
            Field("portion_g", "Portion, g", "the course's"),
        ),
        "Batches and days": (
            Field("step_portions", "Scales in steps of, portions", "1"),
            Field("min_portions", "Smallest cook, portions", "one step"),
            Field("max_portions", "Largest cook, portions", "100"),
            Field("hold_days", "Good for, days with the day of cooking", "1"),
            Field("appeal", "Appeal (1 is usual)", "1"),
        ),
        "Work": (
            Field("hands_on_min", "Hands on per cook, min", "0"),
            Field("hands_on_min_per_10", "Hands on per 10 portions, min", "0"),
            Field("oven_min", "Oven, min", "0"),
            Field("oven_c", "Oven, °C", "unknown"),
            Field("hob_min", "Hob, min", "0"),
            Field("processor_min", "Processor, min", "0"),
        ),
        "Kind": (
            Field("cuisine", "Cuisine"),
            Field("method", "Method", "kept like a raw dish"),
            Field("served_as", "Served", choices=("", "hot", "cold")),
            Field("texture", "Texture"),
            Field("cooked_yield_pct", "Cooked weight, % of raw", "unknown"),
        ),
    }


def ingredient_fields() -> Groups:
    """The facts of an ingredient; allergens are asked for apart."""
    acids = tuple(
        Field(AMINO_COLUMNS[acid], f"{AMINO_LABELS[acid]}, mg per g protein", "unknown")
        for acid in AMINO_ACIDS
    )
    return {
        "Ingredient": (
            Field("name", "Name"),
            Field("form", "Bought and kept as", choices=tuple(Form)),
            Field("group", "Group"),
            Field("colour", "Colour", "none"),
        ),
        "Weights": (
            Field("piece_g", "One piece, g", "unknown"),
            Field("yield_pct", "Eaten of what is bought, %", "100"),
            Field("g_per_ml", "Weight of 1 ml, g", "unknown"),
            Field("fridge_l_per_kg", "Room in the fridge, l per kg", "not kept there"),
        ),
        "Keeping": (
            Field("keeps_days", "Keeps, days", "1, dry goods without end"),
            Field("opened_keeps_days", "Keeps opened, days", "1, dry goods without end"),
            Field("months", "In season, months 1;2;3", "all year"),
            Field("diets_excluded", "Diets that leave it out", "none known"),
        ),
        "Per 100 g eaten": (
            Field("protein_g", "Protein, g", "unknown"),
            Field("fibre_g", "Fibre, g", "unknown"),
            Field("sodium_mg", "Sodium, mg", "unknown"),
            Field("veg_group", "Vegetable group", choices=("", *VEG_GROUPS)),
            *acids,
            Field("source", "Where the figures are from"),
        ),
    }


AMINO_LABELS = {
    "his": "Histidine",
    "ile": "Isoleucine",
    "leu": "Leucine",
    "lys": "Lysine",
    "saa": "Methionine and cysteine",
    "aaa": "Phenylalanine and tyrosine",
    "thr": "Threonine",
    "trp": "Tryptophan",
    "val": "Valine",
}
COLUMN_LABELS = {
    "item": "Ingredient or dish",
    "qty": "Amount",
    "unit": "Unit",
    "yield_pct": "Yield, %",
    "visible": "Seen",
    "flexible": "May give",
    "note": "Note",
    "step": "Step",
    "text": "What to do",
    "minutes": "Minutes",
    "station": "Station",
    "ahead_days": "Days ahead",
    "supplier": "Supplier",
    "pack_qty": "Pack",
    "pack_unit": "Pack unit",
    "price": "Price",
    "from_date": "From date",
}
"""Of the tables of lines, steps and offers."""
