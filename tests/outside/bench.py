"""A cafe folder written for a check, and the week the real planner makes of it.

The folder goes the whole way: tables, units, model, search, verifier. Every dish is
shown every day (as many places as dishes), 10 portions of each, unless said otherwise.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.reports import REPORTS
from optimiser.rules import default_rules, parse_rule
from optimiser.search import Effort
from optimiser.tables import read_folder
from optimiser.week import Week

ROOT = Path(__file__).parents[2]
DATA = Path(__file__).parents[1] / "data"
MON = date(2026, 6, 1)
"""A Monday: the first day of June and of the southern winter."""

COMMON = "common practice, no source"
"""The source of a custom, which is printed but not counted."""

Row = dict[str, str]
PORTIONS = 10
INGREDIENT = (
    "ingredient,name,group,colour,form,piece_g,yield_pct,g_per_ml,keeps_days,opened_keeps_days,"
    "protein_g,lysine_mg_per_g_protein,allergens,diets_excluded,months,source"
).split(",")
DISH = (
    "dish,name,course,portions,portion_g,step_portions,min_portions,max_portions,hold_days,"
    "hands_on_min,hands_on_min_per_10,oven_min,hob_min,processor_min,appeal,cuisine,method,"
    "served_as,price"
).split(",")
EMPTY = {
    "stock": "item,qty,unit,use_by,state".split(","),
    "offers": "ingredient,supplier,pack_qty,pack_unit,price,from_date".split(","),
    "lines": "dish,item,qty,unit,yield_pct,visible,note".split(","),
}


def table(path: Path) -> list[Row]:
    """Rows of a CSV file."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@cache
def sr28() -> dict[str, Row]:
    """USDA SR28 by NDB number, per 100 g edible."""
    return {row["ndb_no"]: row for row in table(DATA / "usda_sr28_plant_foods.csv")}


@cache
def foodkeeper() -> dict[str, Row]:
    """USDA FoodKeeper v128 by its id."""
    return {row["foodkeeper_id"]: row for row in table(DATA / "usda_foodkeeper_v128.csv")}


@cache
def sample_pantry() -> dict[str, Row]:
    """Rows of the sample's ingredients.csv by id."""
    return {row["ingredient"]: row for row in table(ROOT / "sample_data" / "ingredients.csv")}


def pantry(*names: str) -> list[Row]:
    """Rows of the sample's ingredients, as they stand."""
    return [dict(sample_pantry()[name]) for name in names]


def dish(name: str, **cells: Any) -> dict[str, Any]:
    """A row of dishes.csv: 10 portions of 100 g, cooked 10 at a time, 10 to 40."""
    usual = {
        "name": name, "course": "plate", "portions": PORTIONS, "portion_g": 100,
        "step_portions": 10, "min_portions": 10, "max_portions": 40, "hold_days": 1,
        "hands_on_min": 0, "hands_on_min_per_10": 0, "appeal": 1, "method": "boiled",
        "served_as": "cold",
    }  # fmt: skip
    return {"dish": name} | usual | cells


def line(dish: str, item: str, qty: float, unit: str = "g", **cells: Any) -> dict[str, Any]:
    """A row of recipe_lines.csv."""
    return {"dish": dish, "item": item, "qty": qty, "unit": unit, "visible": "yes"} | cells


@dataclass(frozen=True)
class Planned:
    """A verified week, with its facts."""

    plan: Plan
    week: Week

    @property
    def cafe(self) -> Cafe:
        """The cafe as read."""
        return self.week.cafe

    def grams(self, dish: str, item: str) -> float:
        """Grams of an item (as purchased; parts finished) in a recipe as written."""
        taken = sum(u.grams for u in self.plan.uses if (u.dish, u.item) == (dish, item))
        cooked = sum(cook.portions for cook in self.plan.cooks if cook.dish == dish)
        return taken / cooked * self.cafe.dishes[dish].portions

    def rows(self, report: str, **cells: Any) -> list[dict[str, Any]]:
        """Rows of a report in which these cells hold these values."""
        make = next(one for one in REPORTS if one.name == report).rows
        rows = [dict(row) for row in make(self.plan, self.cafe)]
        return [row for row in rows if cells.items() <= row.items()]

    def row(self, report: str, **cells: Any) -> dict[str, Any]:
        """The only such row."""
        (found,) = self.rows(report, **cells)
        return found


def write_cafe(
    path: Path,
    ingredients: Iterable[Mapping[str, Any]],
    dishes: Iterable[Mapping[str, Any]],
    lines: Iterable[Mapping[str, Any]],
    *,
    offers: Iterable[Mapping[str, Any]] | None = None,
    stock: Iterable[Mapping[str, Any]] = (),
    settings: str = "",
    rules: str = "",
    slots: int | None = None,
    open_days: Iterable[str] = ("mon",),
) -> Path:
    """Write a folder. Without `offers` a van brings every day a kilo or a piece of
    everything for 1.00. `settings` go to the top of cafe.toml, `rules` to its end."""
    foods, cooked = list(ingredients), list(dishes)
    sold = [row for row in cooked if row["course"] == "plate"]
    places = len(sold) if slots is None else slots
    guests = PORTIONS * places
    path.mkdir(parents=True, exist_ok=True)
    _write(path / "ingredients.csv", INGREDIENT, foods)
    _write(path / "dishes.csv", DISH, cooked)
    _write(path / "recipe_lines.csv", EMPTY["lines"], lines)
    _write(path / "offers.csv", EMPTY["offers"], [_offer(f) for f in foods] if offers is None
           else offers)  # fmt: skip
    _write(path / "stock.csv", EMPTY["stock"], stock)
    (path / "suppliers.csv").write_text(
        "supplier,name,delivers,lead_days,minimum_order,delivery_fee\n"
        "van,Van,mon;tue;wed;thu;fri;sat;sun,1,0,0\n"
    )
    (path / "covers.csv").write_text(
        "day,covers,low,high\n"
        + "".join(f"{day},{guests},{guests},{guests}\n" for day in open_days)
    )
    days = ", ".join(f'"{day}"' for day in open_days)
    (path / "cafe.toml").write_text(
        f'name = "Bench"\nopen_days = [{days}]\nweek = {MON}\n{settings}\n'
        f"[courses.plate]\nslots = {places}\nprice = 50\ntake_up = 1\nportion_g = 100\n"
        f"{rules}\n"
    )
    return path


def _offer(food: Mapping[str, Any]) -> dict[str, Any]:
    unit = "each" if food["form"] == "whole" else "kg"
    return {"ingredient": food["ingredient"], "supplier": "van", "pack_qty": 1, "pack_unit": unit,
            "price": "1.00"}  # fmt: skip


def _write(path: Path, columns: list[str], rows: Iterable[Mapping[str, Any]]) -> None:
    """Columns beyond the usual ones are kept if any row has them."""
    listed = list(rows)
    extra = dict.fromkeys(name for row in listed for name in row if name not in columns)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, [*columns, *extra])
        writer.writeheader()
        writer.writerows(listed)


def planned(
    folder: Path, days: int = 1, rules: Iterable[dict[str, Any]] = (), start: date = MON
) -> Planned:
    """Read a folder and plan its week, as the command line does.

    `rules` come on top of the folder's: a folder with a rule that none of its dishes
    can keep is refused, but a check may want to see such a rule broken at its price.
    """
    reading = read_folder(folder)
    own = (*reading.rules, *(parse_rule(one) for one in rules))
    before = start - timedelta(days=3)
    return plan_of(Week(reading.cafe, default_rules(reading.cafe, own), start, before, days))


def highest_held(week: Planned, rungs: Sequence[float]) -> float:
    """The rules of a week ask for ever more, rung by rung; the last one that held.

    Some must hold, some must not, and none may hold above one that does not.
    """
    held = [result.holds for result in week.plan.rules]
    assert len(held) == len(rungs) and held == sorted(held, reverse=True)
    assert held[0] and not held[-1]
    return rungs[held.index(False) - 1]


def plan_of(week: Week, work: int = 3) -> Planned:
    """The verified plan of a week after so much work; fails if there is none."""
    outcome = plan_week(week, Effort(seconds=30, work=work))
    assert outcome.plan is not None, (outcome.rejected, outcome.infeasible)
    return Planned(outcome.plan, week)
