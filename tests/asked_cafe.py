"""A small folder with enough dishes to choose from, and a plan of its week: what the verbs
`whatif` and `explain` are tried on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.rules import default_rules
from optimiser.search import Effort
from optimiser.tables import read_folder
from optimiser.week import Week
from tests.cafe_folder import FILES, write_folder

STOCK = "item,qty,unit,use_by,state\nsquash,3,each,2026-12-20,whole\n"
FORMULA_DISH = '"=1+1 salad"'
"""A name that a spreadsheet would take for a formula."""


def more_dishes() -> dict[str, str]:
    """Two more salads and a main, and no soup barred."""
    dishes = FILES["dishes"] + (
        f"leaf_salad,{FORMULA_DISH},salad,10,150,5,5,40,1,10,4,,,,1.1,house,raw,cold,,,,\n"
        "tofu_bowl,Tofu bowl,salad,10,150,5,5,40,2,10,4,,,,1.05,house,raw,cold,6.00,,,\n"
        "tofu_roast,Tofu roast,main,10,300,5,10,60,2,15,5,30,,,1,house,roasted,hot,11.00,,,\n"
    )
    lines = FILES["recipe_lines"] + (
        "leaf_salad,spinach,0.7,kg,,yes,\n"
        "tofu_bowl,tofu,2,each,,yes,\ntofu_bowl,spinach,0.2,kg,,yes,\n"
        "tofu_roast,tofu,3,each,,yes,\ntofu_roast,squash,1,kg,,yes,\n"
    )
    cafe = FILES["cafe"].replace('[[rules]]\nkind = "bar"\ndish = "soup"\n', "")
    return {"cafe": cafe, "dishes": dishes, "recipe_lines": lines, "stock": STOCK}


@dataclass(frozen=True)
class Planned:
    """A folder, its week, a verified plan of it and the file of the plan."""

    folder: Path
    week: Week
    plan: Plan
    file: Path


def planned_cafe(path: Path, **files: str | None) -> Planned:
    """Write the folder below `path` and plan its week."""
    folder = write_folder(path / "cafe", **{**more_dishes(), **files})
    week = week_of(folder)
    plan = plan_week(week, Effort(seconds=20.0, work=3)).plan
    assert plan is not None
    file = path / "plan.json"
    file.write_text(plan.to_json(), encoding="utf-8")
    return Planned(folder, week, plan, file)


def week_of(folder: Path) -> Week:
    """The week of the folder's own settings."""
    reading = read_folder(folder)
    cafe = reading.cafe
    assert cafe.week is not None
    planned_on = cafe.week - timedelta(days=cafe.plan_ahead_days)
    return Week(cafe, default_rules(cafe, reading.rules), cafe.week, planned_on)
