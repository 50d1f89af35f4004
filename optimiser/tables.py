"""A cafe folder (or a document in memory) into a `Cafe`, or every fault in it at once.

It holds cafe.toml and the CSV files of `table_schema`. Nothing is
guessed: what is blank takes a default that is noted, what is wrong is a fault.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from optimiser import table_schema as schema
from optimiser.cafe import WEEKDAYS, Cafe, Cover, Dish, Served
from optimiser.rules.base import Rule
from optimiser.settings_file import Settings
from optimiser.table_amounts import Pantry, knows
from optimiser.table_faults import Fault, Findings, TableFaults
from optimiser.table_pantry import read_ingredients, read_offers, read_suppliers
from optimiser.table_recipes import (
    check_lines_exist,
    check_parts,
    read_dishes,
    read_lines,
    read_steps,
)
from optimiser.table_rows import Folder, Source, Table, read_table
from optimiser.table_stock import read_stock
from optimiser.units import Measures

__all__ = ["Fault", "Reading", "TableFaults", "read_folder", "read_tables"]


@dataclass(frozen=True)
class Reading:
    """A valid folder: its facts, its rules, and what was defaulted. `rules_off`: rules
    switched off, which need not fit the cafe."""

    cafe: Cafe
    rules: tuple[Rule, ...]
    notes: tuple[str, ...]
    rules_off: tuple[Rule, ...] = ()


def read_folder(folder: Path) -> Reading:
    """Read a cafe folder. Raises TableFaults with every fault found."""
    findings = Findings()
    if not folder.is_dir():
        findings.fault(folder.name, None, None, "", "no such folder; give the cafe's folder")
        findings.raise_if_any(schema.FILE_ORDER)
    return read_tables(Folder(folder))


def read_tables(source: Source) -> Reading:
    """Read a cafe from wherever its files are. Raises TableFaults with every fault found."""
    findings = Findings()
    settings = Settings(source, findings)
    tables = {one.file: read_table(source, one, findings) for one in schema.TABLES}
    cafe, sound = _build(settings, tables, findings)
    if sound:
        for count, rule in settings.rules:
            for message in rule.faults(cafe):
                settings.fault(f"rules.{count}", rule.kind, message)
    findings.raise_if_any(schema.FILE_ORDER)
    rules, off = (
        tuple(rule for _, rule in found) for found in (settings.rules, settings.rules_off)
    )
    return Reading(cafe, rules, findings.notes(), off)


def _build(settings: Settings, tables: dict[str, Table], findings: Findings) -> tuple[Cafe, bool]:
    """The cafe, and whether all its ids are known and no dish is a part of itself.

    After faults the cafe has stand-ins in their places and only serves to check
    the rules against.
    """
    goods, sellers, dish_table = (
        tables[one.file] for one in (schema.INGREDIENTS, schema.SUPPLIERS, schema.DISHES)
    )
    measures = Measures(settings.top.get("cup_ml", 250.0), settings.top.get("tbsp_ml", 20.0))
    pantry = Pantry()
    read_ingredients(goods, pantry)
    read_suppliers(sellers, pantry)
    offers = read_offers(
        tables[schema.OFFERS.file], pantry, measures, (goods.complete, sellers.complete)
    )
    dishes = read_dishes(dish_table, pantry, settings.top["courses"], settings.complete)
    line_table = tables[schema.RECIPE_LINES.file]
    complete = (goods.complete, dish_table.complete)
    lines, parts = read_lines(line_table, pantry, dishes, complete, measures)
    check_lines_exist(dish_table, line_table, lines)
    sound = check_parts(line_table, parts) and all(complete) and settings.complete
    steps = read_steps(tables[schema.STEPS.file], dishes, dish_table.complete)
    whole_dishes = {
        ident: dish.model_copy(
            update={"lines": tuple(lines.get(ident, ())), "steps": tuple(steps.get(ident, ()))}
        )
        for ident, dish in dishes.items()
    }
    cafe = Cafe(
        **settings.top,
        ingredients=pantry.ingredients,
        suppliers=pantry.suppliers,
        offers=offers,
        dishes=whole_dishes,
        stock=read_stock(tables[schema.STOCK.file], pantry, dishes, all(complete), measures),
        covers=_covers(tables[schema.COVERS.file], findings),
        history=_history(tables[schema.HISTORY.file], dishes, dish_table.complete),
    )
    if "open_days" in settings.top:
        _check_open_days(tables[schema.COVERS.file], cafe)
    return cafe, sound


def _covers(table: Table, findings: Findings) -> dict[int | date, Cover]:
    """Guests by weekday number or date."""
    covers: dict[int | date, Cover] = {}
    for row in table.rows:
        if not row.has("day"):
            continue
        expected = row.get("covers", 0.0)
        for column in ("low", "high"):
            if row.is_blank(column) and not row.has("chances"):
                written = row.written["day"]
                findings.note(f"covers.csv: {column} blank, taken as covers", written)
        low, high = row.get("low", expected), row.get("high", expected)
        if row.has("covers"):
            if low > expected:
                table.fault(row, "low", "more than covers; a quiet day has fewer guests, change it")
            if high < expected:
                table.fault(row, "high", "less than covers; a busy day has more guests, change it")
        covers.setdefault(
            row.get("day"),
            Cover(expected=expected, low=low, high=high, chances=row.get("chances", ())),
        )
    return covers


def _check_open_days(table: Table, cafe: Cafe) -> None:
    """A fault for an open weekday without guests; a note where only dates have some."""
    if not table.complete or any("day" in row.bad for row in table.rows):
        return
    dated = {day.weekday() for day in cafe.covers if isinstance(day, date)}
    for number in sorted(cafe.open_days - cafe.covers.keys()):
        day = WEEKDAYS[number]
        if number in dated:
            table.findings.note("covers.csv: no guests but on the dates listed", day)
        else:
            table.findings.fault(
                table.schema.file, None, "day", day, "an open day without a row; add its guests"
            )


def _history(table: Table, dishes: dict[str, Dish], complete: bool) -> tuple[Served, ...]:
    """What became of dishes on past days, in table order."""
    return tuple(
        Served(
            day=row.get("date"),
            dish=row.get("dish"),
            cooked=row.get("cooked"),
            sold=row.get("sold"),
            binned=row.get("binned", 0.0),
            sold_out_at=row.get("sold_out_at"),
        )
        for row in table.rows
        if knows(table, row, "dish", dishes, complete, "dish") and row.has("date", "cooked", "sold")
    )
