"""The columns of each table: name, what a cell may hold, whether it may be blank."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser import table_cells as cells
from optimiser.cafe import AMINO_ACIDS, NO_LIMIT_DAYS, VEG_GROUPS
from optimiser.table_cells import Parse
from optimiser.units import UNITS


@dataclass(frozen=True)
class Column:
    """`needed`: no cell may be blank. `extra`: the column itself may be missing."""

    name: str
    parse: Parse
    needed: bool = False
    extra: bool = False


@dataclass(frozen=True)
class Schema:
    """One file. `key`: columns that no two rows may share.
    `may_be_missing`: the file itself; `may_be_empty`: its rows."""

    file: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    may_be_missing: bool = False
    may_be_empty: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all known columns."""
        return tuple(column.name for column in self.columns)


MAX_G = 1_000_000.0
"""No amount of one thing is more than a tonne."""

_QTY = cells.number(0, MAX_G, above=True)
_PCT = cells.number(0, 100, above=True)
_LIFE = cells.whole_number(1, NO_LIMIT_DAYS)
_MINUTES = cells.number(0, 1440)
_GUESTS = cells.number(0, 100_000)
_NAME = cells.text(200)
_UNIT = cells.choice(*UNITS)

AMINO_COLUMNS = {name: f"{name}_mg_per_g_protein" for name in AMINO_ACIDS} | {
    "lys": "lysine_mg_per_g_protein"
}
"""The column of each amino acid."""

INGREDIENTS = Schema(
    "ingredients.csv",
    ("ingredient",),
    (
        Column("ingredient", cells.slug, needed=True),
        Column("name", _NAME, needed=True),
        Column("group", _NAME),
        Column("colour", cells.colour),
        Column("form", cells.choice("whole", "loose", "dry"), needed=True),
        Column("piece_g", cells.number(0, MAX_G, above=True)),
        Column("yield_pct", _PCT),
        Column("g_per_ml", cells.number(0.01, 25)),
        Column("keeps_days", _LIFE),
        Column("opened_keeps_days", _LIFE),
        Column("protein_g", cells.number(0, 100)),
        Column("lysine_mg_per_g_protein", cells.number(0, 150)),
        *(
            Column(column, cells.number(0, 300), extra=True)
            for name, column in AMINO_COLUMNS.items()
            if name != "lys"
        ),
        Column("sodium_mg", cells.number(0, 40_000), extra=True),
        Column("fibre_g", cells.number(0, 100), extra=True),
        Column("veg_group", cells.choice(*VEG_GROUPS), extra=True),
        Column("fridge_l_per_kg", cells.number(0, 100, above=True), extra=True),
        Column("allergens", cells.allergens),
        Column("diets_excluded", cells.words),
        Column("months", cells.months),
        Column("source", cells.text(2000, lines=True)),
    ),
)
SUPPLIERS = Schema(
    "suppliers.csv",
    ("supplier",),
    (
        Column("supplier", cells.slug, needed=True),
        Column("name", _NAME, needed=True),
        Column("delivers", cells.days, needed=True),
        Column("lead_days", cells.whole_number(0, 60)),
        Column("minimum_order", cells.cents),
        Column("delivery_fee", cells.cents),
        Column("cut_off", cells.clock, extra=True),
    ),
)
OFFERS = Schema(
    "offers.csv",
    ("ingredient", "supplier", "pack_qty", "pack_unit", "from_date"),
    (
        Column("ingredient", cells.slug, needed=True),
        Column("supplier", cells.slug, needed=True),
        Column("pack_qty", _QTY, needed=True),
        Column("pack_unit", _UNIT, needed=True),
        Column("price", cells.price, needed=True),
        Column("from_date", cells.iso_date),
    ),
)
DISHES = Schema(
    "dishes.csv",
    ("dish",),
    (
        Column("dish", cells.slug, needed=True),
        Column("name", _NAME, needed=True),
        Column("course", cells.slug, needed=True),
        Column("portions", cells.number(0, 10_000, above=True), needed=True),
        Column("portion_g", cells.number(0, 10_000, above=True)),
        Column("step_portions", cells.whole_number(1, 1000)),
        Column("min_portions", cells.whole_number(1, 10_000)),
        Column("max_portions", cells.whole_number(1, 10_000)),
        Column("hold_days", cells.whole_number(1, 60)),
        Column("hands_on_min", _MINUTES),
        Column("hands_on_min_per_10", _MINUTES),
        Column("oven_min", _MINUTES),
        Column("hob_min", _MINUTES),
        Column("processor_min", _MINUTES),
        Column("appeal", cells.number(0, 10, above=True)),
        Column("cuisine", cells.word),
        Column("method", cells.word),
        Column("served_as", cells.choice("hot", "cold")),
        Column("price", cells.cents),
        Column("cooked_yield_pct", cells.number(0, 1000, above=True), extra=True),
        Column("oven_c", cells.number(30, 400), extra=True),
        Column("texture", cells.word, extra=True),
    ),
)
RECIPE_LINES = Schema(
    "recipe_lines.csv",
    ("dish", "item", "unit", "note"),
    (
        Column("dish", cells.slug, needed=True),
        Column("item", cells.slug, needed=True),
        Column("qty", _QTY, needed=True),
        Column("unit", _UNIT, needed=True),
        Column("yield_pct", _PCT),
        Column("visible", cells.yes_or_no),
        Column("flexible", cells.yes_or_no, extra=True),
        Column("note", cells.text(2000, lines=True)),
    ),
)
STEPS = Schema(
    "steps.csv",
    ("dish", "step"),
    (
        Column("dish", cells.slug, needed=True),
        Column("step", cells.whole_number(1, 1000), needed=True),
        Column("text", cells.text(4000, lines=True), needed=True),
        Column("minutes", cells.number(0, 10_000)),
        Column("station", _NAME),
        Column("ahead_days", cells.whole_number(0, 60)),
    ),
    may_be_missing=True,
    may_be_empty=True,
)
STOCK = Schema(
    "stock.csv",
    (),
    (
        Column("item", cells.slug, needed=True),
        Column("qty", _QTY, needed=True),
        Column("unit", _UNIT, needed=True),
        Column("use_by", cells.iso_date),
        Column("state", cells.choice("whole", "opened", "cooked"), needed=True),
    ),
    may_be_empty=True,
)
COVERS = Schema(
    "covers.csv",
    ("day",),
    (
        Column("day", cells.weekday_or_date, needed=True),
        Column("covers", _GUESTS, needed=True),
        Column("low", _GUESTS),
        Column("high", _GUESTS),
        Column("chances", cells.chances, extra=True),
    ),
)
HISTORY = Schema(
    "history.csv",
    ("date", "dish"),
    (
        Column("date", cells.iso_date, needed=True),
        Column("dish", cells.slug, needed=True),
        Column("cooked", cells.number(0, 10_000), needed=True),
        Column("sold", cells.number(0, 10_000), needed=True),
        Column("binned", cells.number(0, 10_000)),
        Column("sold_out_at", cells.clock),
    ),
    may_be_missing=True,
    may_be_empty=True,
)

SETTINGS_FILE = "cafe.toml"
TABLES = (
    INGREDIENTS,
    SUPPLIERS,
    OFFERS,
    DISHES,
    RECIPE_LINES,
    STEPS,
    STOCK,
    COVERS,
    HISTORY,
)
FILE_ORDER = (SETTINGS_FILE, *(schema.file for schema in TABLES))
