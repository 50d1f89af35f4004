"""When crops of the south are in season, and which vegetable group they belong to.

Sources
- Love Food Hate Waste Victoria, a public body, on Victoria, Australia; it calls its list
  non-exhaustive. Southern seasons: summer December to February, winter June to August.
- National Academies, record 12959, Table H-1 (p. 236). Followed here for red pepper and
  tomato, which it puts with `other`; other US lists put them with red and orange.
Our seasons come from the rule `in_season`, asked in each month of a year; our groups
from the rule `veg_groups_daily`, asked of dishes side by side.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from optimiser.verify import ask_rules
from tests.outside.bench import (
    Planned,
    dish,
    highest_held,
    line,
    pantry,
    planned,
    sample_pantry,
    write_cafe,
)

VICTORIA, TABLE_H1 = "Love Food Hate Waste Vic.", "Table H-1, record 12959"
SEASONS = {"su": (12, 1, 2), "au": (3, 4, 5), "wi": (6, 7, 8), "sp": (9, 10, 11)}
CROPS = {
    "kent_pumpkin": "au wi",
    "butternut": "au wi",
    "beetroot": "wi sp",
    "asparagus": "su sp",
    "capsicum_red": "su au",
    "eggplant": "su au",
    "broccoli": "au wi sp",
    "spinach": "au wi sp",
    "zucchini": "su au sp",
    "corn_cob": "su au sp",
    "green_cabbage": "au wi",
}
"""Seasons of the year, from summer on."""


@pytest.fixture(scope="module")
def year(tmp_path_factory) -> dict[int, Planned]:
    """All crops shown on a Monday in the middle of each month, in season or at a price."""
    dishes = [dish(f"of_{crop}") for crop in CROPS]
    lines = [line(f"of_{crop}", crop, 100) for crop in CROPS]
    folder = write_cafe(tmp_path_factory.mktemp("year"), pantry(*CROPS), dishes, lines)
    rule = {"kind": "in_season", "scope": "any", "price_cents": 1}
    found = {}
    for month in range(1, 13):
        middle = date(2026, month, 15)
        monday = middle - timedelta(days=middle.weekday())
        found[month] = planned(folder, rules=[rule], start=monday)
    return found


@pytest.mark.parametrize("crop", CROPS)
def test_a_crop_of_the_sample_is_in_season_when_victoria_says(year, main_job, crop):
    out = {
        month
        for month, week in year.items()
        for breach in ask_rules(week.plan, week.week).priced
        if breach.item == f"of_{crop}"
    }
    some = {name for name, months in SEASONS.items() if out & set(months)}
    ours = " ".join(name for name in SEASONS if name not in some)
    months = [m for name, of in SEASONS.items() if name in some for m in of]
    assert set(months) == out  # no season is half in
    figure = f"{crop.replace('_', ' ')}: seasons"
    main_job(year[6].plan, "season", VICTORIA, figure, CROPS[crop], ours)


GROUPS = {
    "broccoli": "dark_green",
    "kale": "dark_green",
    "spinach": "dark_green",
    "butternut": "orange",
    "carrot": "orange",
    "kent_pumpkin": "orange",
    "sweet_potato": "orange",
    "tofu_firm": "pulses",
    "red_lentils": "pulses",
    "beetroot": "other",
    "red_cabbage": "other",
    "capsicum_red": "other",
    "tomato": "other",
}


@pytest.mark.parametrize("food", GROUPS)
def test_a_food_of_the_sample_is_in_the_group_of_the_table(outside, sample, food):
    ours = sample.cafe.ingredients[food].veg_group
    outside("colours", TABLE_H1, f"group of {food.replace('_', ' ')}", GROUPS[food], ours or "none")


SIDE_BY_SIDE = {
    "broccoli, kale, spinach: groups": ("broccoli kale spinach", 1),
    "carrot, pumpkin, sweet potato: groups": ("carrot kent_pumpkin sweet_potato", 1),
    "beetroot, pepper, tomato: groups": ("beetroot capsicum_red tomato", 1),
    "carrot, red pepper: groups": ("carrot capsicum_red", 2),
    "kale, carrot, tofu, tomato: groups": ("kale carrot tofu_firm tomato", 4),
}


@pytest.mark.parametrize("figure", SIDE_BY_SIDE)
def test_the_rule_counts_the_groups_of_the_table(tmp_path, main_job, figure):
    names, theirs = SIDE_BY_SIDE[figure]
    foods = names.split()
    assert len({GROUPS[food] for food in foods}) == theirs
    dishes = [dish(f"of_{food}") for food in foods]
    lines = [line(f"of_{food}", food, 1000) for food in foods]
    rungs = [1, 2, 3, 4, 5]
    rules = [{"kind": "veg_groups_daily", "groups": n, "price_cents": 0.01} for n in rungs]
    week = planned(write_cafe(tmp_path, pantry(*foods), dishes, lines), rules=rules)
    main_job(week.plan, "colours", TABLE_H1, figure, theirs, highest_held(week, rungs))


def test_every_crop_of_victoria_has_months_in_the_sample():
    """A crop without months would count as always in season, and prove nothing."""
    assert all(sample_pantry()[crop]["months"] for crop in CROPS)
