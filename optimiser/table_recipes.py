"""Rows of dishes, recipe lines and steps into dishes, and the parts they are made of."""

from __future__ import annotations

import math
from typing import Any

from optimiser.cafe import COMPONENT, Course, Dish, Line, Step
from optimiser.table_amounts import Pantry, knows, to_grams
from optimiser.table_faults import Findings
from optimiser.table_rows import Row, Table
from optimiser.units import EACH, Measures

MAX_DISHES = 2000
MAX_NESTING = 8
"""Dishes within dishes within dishes, at most."""

NOT_NOTED = ("oven_min", "hob_min", "processor_min")
"""Blank simply means that the station is not used."""

DEFAULTS: dict[str, Any] = {
    "step_portions": 1,
    "hold_days": 1,
    "hands_on_min": 0.0,
    "hands_on_min_per_10": 0.0,
    "oven_min": 0.0,
    "hob_min": 0.0,
    "processor_min": 0.0,
    "appeal": 1.0,
}
MOST_PORTIONS = 100

PIECES_NOTE = (
    "recipe_lines.csv: `each` of a thing with trim is read as that many piece_g of edible food, so "
    "more is bought; write yield_pct 100 on the line where pieces are counted as bought"
)

Parts = dict[str, list[tuple[str, Row]]]
"""Dish -> the dishes in it, each with the recipe line that says so."""


def read_dishes(
    table: Table, pantry: Pantry, courses: dict[str, Course], courses_complete: bool
) -> dict[str, Dish]:
    """Dishes by id, without lines and steps."""
    if len(table.rows) > MAX_DISHES:
        table.findings.fault(
            table.schema.file, None, None, "", f"more than {MAX_DISHES:,} dishes; drop old ones"
        )
        table.complete = False
        table.rows = table.rows[:MAX_DISHES]
    dishes: dict[str, Dish] = {}
    for row in table.rows:
        if not row.has("dish") or row.values["dish"] in dishes:
            continue
        ident = row.values["dish"]
        if ident in pantry.ingredients:
            table.fault(row, "dish", "also the id of an ingredient; change one of them")
        if row.get("course") != COMPONENT:
            known = {**courses, COMPONENT: None}
            knows(table, row, "course", known, courses_complete, "course")
        portion_g = _portion_g(table, row, courses)
        if row.bad & {"portion_g", "portions"}:
            pantry.unsure.add(ident)
        fields = {column: _or_default(table.findings, row, column) for column in DEFAULTS}
        fields |= dict(zip(("min_portions", "max_portions"), _limits(table, row), strict=True))
        if row.is_blank("method"):
            table.findings.note("dishes.csv: method blank, kept like a raw dish", ident)
        dishes[ident] = Dish(
            id=ident,
            name=row.get("name", ident),
            course=row.get("course", COMPONENT),
            portions=row.get("portions", 1.0),
            portion_g=portion_g,
            **fields,
            cuisine=row.get("cuisine", ""),
            method=row.get("method", ""),
            served_as=row.get("served_as", ""),
            price_cents=row.get("price"),
            cooked_yield_pct=row.get("cooked_yield_pct"),
            oven_c=row.get("oven_c"),
            texture=row.get("texture", ""),
        )
    return dishes


def _or_default(findings: Findings, row: Row, column: str) -> Any:
    """The value of a cell, or the default, which is noted."""
    default = DEFAULTS[column]
    if row.is_blank(column) and column not in NOT_NOTED:
        findings.note(f"dishes.csv: {column} blank, taken as {default:g}", row.get("dish"))
    return row.get(column, default)


def _portion_g(table: Table, row: Row, courses: dict[str, Course]) -> float:
    """The dish's portion, else its course's."""
    if row.is_blank("portion_g"):
        course = courses.get(row.get("course", ""))
        if course:
            sentence = "dishes.csv: portion_g blank, taken from the course"
            table.findings.note(sentence, row.get("dish"))
            return course.portion_g
        if row.get("course") == COMPONENT:
            table.fault(row, "portion_g", "must not be blank for a component; add it")
    grams: float = row.get("portion_g", 1.0)
    return grams


def _limits(table: Table, row: Row) -> tuple[int, int]:
    """Fewest and most portions of a cook; blank is one step, and 100 portions."""
    step = row.get("step_portions", DEFAULTS["step_portions"])
    low = row.get("min_portions", step)
    high = row.get("max_portions", max(MOST_PORTIONS, low, step))
    if row.is_blank("min_portions"):
        table.findings.note("dishes.csv: min_portions blank, taken as one step", row.get("dish"))
    if row.is_blank("max_portions"):
        sentence = f"dishes.csv: max_portions blank, taken as {MOST_PORTIONS}"
        table.findings.note(sentence, row.get("dish"))
    if row.bad & {"step_portions", "min_portions", "max_portions"}:
        return 1, MOST_PORTIONS
    if low > high:
        table.fault(row, "min_portions", f"more than max_portions ({high}); change one of them")
    elif math.ceil(low / step) * step > high:
        table.fault(
            row,
            "step_portions",
            f"no multiple of it lies between {low} and {high} portions; change one of the three",
        )
    return low, high


def read_lines(
    table: Table,
    pantry: Pantry,
    dishes: dict[str, Dish],
    complete: tuple[bool, bool],
    measures: Measures,
) -> tuple[dict[str, list[Line]], Parts]:
    """Lines by dish, and which dishes are parts of which.

    `complete` says whether all ids of ingredients and of dishes are known.
    """
    things: dict[str, Any] = {**pantry.ingredients, **dishes}
    lines: dict[str, list[Line]] = {}
    parts: Parts = {}
    for row in table.rows:
        is_known = knows(table, row, "dish", dishes, complete[1], "dish")
        own = lines.setdefault(row.get("dish"), []) if is_known else []
        if not knows(table, row, "item", things, all(complete), "ingredient or dish"):
            continue
        thing = things[row.get("item")]
        if isinstance(thing, Dish):
            if is_known:
                parts.setdefault(row.get("dish"), []).append((thing.id, row))
            if row.get("yield_pct", 100.0) != 100.0:
                table.fault(row, "yield_pct", "a cooked dish has no trim; leave it blank")
        if not row.has("qty", "unit"):
            continue
        qty, unit = row.get("qty"), row.get("unit")
        grams = to_grams(table, row, pantry, thing, qty, unit, measures)
        if grams is not None:
            usual = 100.0 if isinstance(thing, Dish) else thing.yield_pct
            yield_pct = row.get("yield_pct", usual)
            if unit == EACH and yield_pct < 100:
                # Quantities are edible by contract, which a count of pieces may hide.
                table.findings.note(PIECES_NOTE, thing.id)
            own.append(
                Line(
                    item=thing.id,
                    qty=qty,
                    unit=unit,
                    edible_g=grams,
                    yield_pct=yield_pct,
                    visible=row.get("visible", True),
                    flexible=row.get("flexible", False),
                    note=row.get("note", ""),
                )
            )
    return lines, parts


def read_steps(table: Table, dishes: dict[str, Dish], complete: bool) -> dict[str, list[Step]]:
    """Steps by dish, in their own order."""
    steps: dict[str, list[Step]] = {}
    for row in table.rows:
        if not knows(table, row, "dish", dishes, complete, "dish") or not row.has("step", "text"):
            continue
        steps.setdefault(row.get("dish"), []).append(
            Step(
                number=row.get("step"),
                text=row.get("text"),
                minutes=row.get("minutes", 0.0),
                station=row.get("station", ""),
                ahead_days=row.get("ahead_days", 0),
            )
        )
    return {dish: sorted(own, key=lambda step: step.number) for dish, own in steps.items()}


def check_lines_exist(table: Table, lines_table: Table, lines: dict[str, list[Line]]) -> None:
    """A fault for every dish that no recipe line belongs to."""
    for ident, row in table.ids().items():
        if ident not in lines and lines_table.complete:
            table.fault(row, "dish", f"has no lines in {lines_table.schema.file}; add its recipe")


def check_parts(lines_table: Table, parts: Parts) -> bool:
    """Whether no dish is a part of itself and none is nested too deeply; else faults."""
    depth: dict[str, int] = {}
    sound = True
    for top in parts:
        path: list[str] = [top]
        todo = [iter(parts[top])] if top not in depth else []
        while todo:
            item, row = next(todo[-1], (None, None))
            if item is None or row is None:
                todo.pop()
                done = path.pop()
                depth[done] = 1 + max((depth.get(part, 0) for part, _ in parts.get(done, [])))
                continue
            if item in path:
                sound = False
                cycle = " -> ".join((*path[path.index(item) :], item))
                lines_table.fault(row, "item", f"a dish is a part of itself: {cycle}; break it")
            elif item in parts and item not in depth:
                path.append(item)
                todo.append(iter(parts[item]))
    for dish, levels in depth.items():
        if levels == MAX_NESTING + 1:
            sound = False
            row = parts[dish][0][1]
            message = f"dishes nested more than {MAX_NESTING} deep in {dish}; write some out"
            lines_table.fault(row, "item", message)
    return sound
