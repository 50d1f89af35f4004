"""Worked costings of textbooks, from the cost sheet of a planned week.

Sources
- M. Wall, Trade Calculations: 11.95 a kilo at 88.5 % is 13.50 a usable kilo.
- BCcampus, Basic Kitchen and Food Service Management (CC BY 4.0): five portions, 7.60
  rounded line by line, 7.589 unrounded; a portion 1.52.
- holt.blue, MTH 81: .86945 at a food cost of 25 % is 3.48.
- Ontario Pork: a cost of 4 and a price of 16 is 25 %.
"""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import pytest

from optimiser import nutrition
from optimiser.costs import Costs
from optimiser.plan import Plan
from tests.outside.bench import MON, Planned, dish, line, planned, write_cafe

BC, HOLT = "BCcampus, five portions", "holt.blue MTH 81"
FIVE = {
    # qty, unit, pack, its unit, its price: a line of the costing
    "first": (1.5, "kg", 1, "kg", "2.75", 4.13),
    "second": (120, "g", 1, "kg", "0.65", 0.08),
    "third": (220, "g", 1, "kg", "5.95", 1.31),
    "fourth": (220, "g", 40, "kg", "22.00", 0.12),
    "liquid": (2.5, "l", 20, "l", "15.65", 1.96),
}


def food(name: str, **cells: object) -> dict[str, object]:
    return {"ingredient": name, "name": name, "form": "dry", "g_per_ml": 1} | cells


def offer(name: str, qty: float, unit: str, price: str) -> dict[str, object]:
    return {
        "ingredient": name,
        "supplier": "van",
        "pack_qty": qty,
        "pack_unit": unit,
        "price": price,
    }


def five_portions(path: Path) -> Path:
    """The recipe of five portions, and each of its lines as a recipe of its own."""
    dishes = [dish("whole", portions=5)] + [dish(f"only_{name}", portions=1) for name in FIVE]
    lines, offers = [], []
    for name, (qty, unit, pack, pack_unit, price, _) in FIVE.items():
        lines += [line("whole", name, qty, unit), line(f"only_{name}", name, qty, unit)]
        offers.append(offer(name, pack, pack_unit, price))
    return write_cafe(path, [food(name) for name in FIVE], dishes, lines, offers=offers)


@pytest.fixture(scope="module")
def costing(tmp_path_factory) -> Planned:
    return planned(five_portions(tmp_path_factory.mktemp("costing")))


@pytest.mark.parametrize("name", FIVE)
def test_a_line_of_the_costing(costing, main_job, name):
    ours = float(costing.row("costs", section="dish", item=f"only_{name}")["portion_cost"])
    main_job(costing.plan, "costing", BC, f"{name} line", FIVE[name][-1], ours, within=0.005)


def test_the_recipe_of_five_portions_unrounded(costing, main_job):
    row = costing.row("costs", section="dish", item="whole")
    ours = float(row["amount"]) / row["portions"] * 5
    main_job(costing.plan, "costing", BC, "recipe, unrounded", 7.589, ours, within=0.005)


def test_the_recipe_of_five_portions_rounded_line_by_line(costing, main_job):
    """Ours does not round by line: a cent and a half apart at most (five half cents)."""
    rows = costing.rows("costs", section="dish")
    ours = sum(float(r["portion_cost"]) for r in rows if r["item"].startswith("only_"))
    main_job(costing.plan, "costing", BC, "recipe, each line rounded", 7.60, ours, within=0.001)


def test_a_portion_of_the_five_from_the_command_line(tmp_path, main_job):
    folder, out = five_portions(tmp_path / "cafe"), tmp_path / "out"
    command = [sys.executable, "-m", "optimiser", "plan", str(folder), "--days", "1"]
    subprocess.run([*command, "--work", "1", "--out", str(out)], check=True, capture_output=True)
    with (out / "costs.csv").open(encoding="utf-8", newline="") as sheet:
        (row,) = [r for r in csv.DictReader(sheet) if r["item"] == "whole"]
    body = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    plan = Plan.model_validate({key: body[key] for key in Plan.model_fields if key in body})
    ours = float(row["portion_cost"])
    main_job(plan, "costing", BC, "a portion, by the command line", 1.52, ours, within=0.0051)


def one_food(path: Path, cost: str, qty_g: float, price: str = "", **cells: object) -> Planned:
    """A dish of one portion of `qty_g` prepared grams of a food that costs `cost` a kilo."""
    plate = dish("plate", portions=1, price=price)
    recipe = [line("plate", "thing", qty_g)]
    offers = [offer("thing", 1, "kg", cost)]
    return planned(write_cafe(path, [food("thing", **cells)], [plate], recipe, offers=offers))


def test_the_price_of_a_usable_kilo(tmp_path, main_job):
    week = one_food(tmp_path, "11.95", 1000, yield_pct=88.5)
    ours = float(week.row("costs", section="dish")["portion_cost"])
    figure = "usable kilo, 11.95 at 88.5 %"
    main_job(week.plan, "costing", "Wall, Trade Calculations", figure, 13.50, ours, within=0.005)


def test_cost_of_4_at_a_price_of_16(tmp_path, main_job):
    week = one_food(tmp_path, "4.00", 1000, "16.00")
    ours = week.row("costs", section="dish")["food_cost_pct"]
    main_job(week.plan, "costing", "Ontario Pork", "cost 4, price 16: food cost %", 25, ours)


def test_food_cost_of_the_week_is_that_of_its_only_dish(tmp_path, main_job):
    week = one_food(tmp_path, "4.00", 1000, "16.00")
    ours = week.row("costs", item="food")["food_cost_pct"]
    main_job(week.plan, "costing", "Ontario Pork", "the same for the week, all sold", 25, ours)


def test_the_price_for_a_target_keeps_the_target(tmp_path, main_job):
    # .86945 bought as 86.945 g at 10.00 a kilo
    week = one_food(tmp_path, "10.00", 86.945, "3.48")
    ours = week.row("costs", section="dish")["food_cost_pct"]
    main_job(week.plan, "costing", HOLT, ".86945 sold at 3.48: food cost %", 25, ours, within=0.05)


def test_the_price_for_a_target(tmp_path, outside):
    week = one_food(tmp_path, "10.00", 86.945, "3.48")
    costs = nutrition.portion_costs(week.cafe, "plate", Costs(week.cafe, MON).per_g)
    ours = costs.price_cents_for(25) / 100
    outside("costing", HOLT, "price of .86945 at 25 %", 3.48, ours, within=0.005)
