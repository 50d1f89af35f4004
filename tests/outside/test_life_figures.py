"""How long food may be kept, from the dates and labels of planned weeks.

Sources
- Date marking (Minnesota 4626.0400, adopting the US Food Code): 7 days including the
  day of preparation or opening, at 5 degC or below.
- Southern Nevada Health District: a mixed dish takes the date of its oldest part;
  cooked 1 June, used in another dish 3 June, use by 7 June.
- Australia, Standard 3.2.2: hot from 60 degC, cold to 5 degC; cooling from 60 to 21 in
  2 hours, from 21 to 5 in 4 more. Followed here; US and UK limits differ, and the
  standard does not apply in New Zealand.
- USDA FoodKeeper v128 (2018-09-06): the longest life, refrigerated unless said.
"""

from __future__ import annotations

import re
from datetime import date

import pytest

from optimiser.report_base import lot_lives
from tests.outside.bench import MON, Planned, dish, foodkeeper, line, pantry, planned, write_cafe

MINNESOTA, NEVADA = "Minnesota 4626.0400", "Southern Nevada Health D."
STANDARD, KEEPER = "Standard 3.2.2 (Australia)", "USDA FoodKeeper v128"
SQUASH = {
    "ingredient": "squash", "name": "Squash", "form": "whole", "piece_g": 1000,
    "keeps_days": 20, "opened_keeps_days": 7,
}  # fmt: skip
PINS = '[[rules]]\nkind = "pin"\ndish = "{}"\nday = "{}"\n'


@pytest.fixture(scope="module")
def june(tmp_path_factory) -> Planned:
    """Monday 1 and Wednesday 3 June. The hob is only free on Monday, so the grain of
    Wednesday's salad is cooked then; everything keeps for the seven days of the code."""
    dishes = [
        dish("soup", hold_days=7, served_as="hot"),
        dish("salad", hold_days=7, method="raw"),
        dish("grain", course="component", hob_min=30, hold_days=7),
    ]
    lines = [line("soup", "squash", 500), line("salad", "grain", 500), line("grain", "rice", 300)]
    hob = "[kitchen.hob_min]\nmon = 60\nwed = 0\n"
    folder = write_cafe(
        tmp_path_factory.mktemp("june"),
        [SQUASH, {"ingredient": "rice", "name": "Rice", "form": "dry"}],
        dishes,
        lines,
        slots=1,
        open_days=("mon", "wed"),
        rules=hob + PINS.format("soup", "mon") + PINS.format("salad", "wed"),
    )
    return planned(folder, days=3)


def june_day(day: date) -> str:
    return f"{day.day} June" if day.month == 6 else day.isoformat()


def test_a_mixed_dish_takes_the_date_of_its_oldest_part(june, main_job):
    grain, salad = june.row("labels", dish="grain"), june.row("labels", dish="salad")
    assert (grain["cooked_on"], salad["cooked_on"]) == (date(2026, 6, 1), date(2026, 6, 3))
    figure = "cooked 1 June, used 3 June: use by"
    main_job(june.plan, "food safety", NEVADA, figure, "7 June", june_day(salad["use_by"]))


def test_seven_days_with_the_day_of_cooking(june, main_job):
    ours = june_day(june.row("labels", dish="grain")["use_by"])
    main_job(june.plan, "food safety", MINNESOTA, "cooked 1 June, 7 days: use by", "7 June", ours)


def test_seven_days_with_the_day_of_opening(june, main_job):
    (cut,) = june.rows("prep", task="open")
    assert cut["date"] == MON
    ours = june_day(cut["then_use_by"])
    main_job(june.plan, "food safety", MINNESOTA, "opened 1 June, 7 days: use by", "7 June", ours)


DEGREES = r"(\d+) to (\d+) °C within (\d+) hours and to (\d+) °C within (\d+) more"
COOLING = {"cooling from, degC": (1, 60), "first cooled to, degC": (2, 21),
           "within, hours": (3, 2), "then cooled to, degC": (4, 5),
           "within further hours": (5, 4)}  # fmt: skip


@pytest.mark.parametrize("figure", COOLING)
def test_the_label_of_a_hot_dish_prints_the_standards_cooling(june, main_job, figure):
    found = re.search(DEGREES, june.row("labels", dish="soup")["storage"])
    assert found is not None
    group, theirs = COOLING[figure]
    main_job(june.plan, "food safety", STANDARD, figure, theirs, float(found[group]))


@pytest.mark.parametrize(("one", "words", "theirs"), [("soup", "hot", 60), ("salad", "cold", 5)])
def test_the_label_prints_the_standards_holding(june, main_job, one, words, theirs):
    found = re.search(rf"Keep {words} at (\d+) °C", june.row("labels", dish=one)["storage"])
    assert found is not None
    main_job(june.plan, "food safety", STANDARD, f"kept {words} at, degC", theirs, float(found[1]))


DELIVERED = {
    # food of the sample: FoodKeeper's product, the end of its span in days
    "tofu_firm": ("168", "refrigerate", 7),
    "carrot": ("279", "refrigerate", 21),
    "red_cabbage": ("278", "refrigerate", 14),
    "cauliflower": ("280", "refrigerate", 5),
    "broccoli": ("276", "refrigerate", 5),
    "spinach": ("415", "refrigerate", 5),
    "asparagus": ("271", "refrigerate", 4),
    "mushroom": ("292", "refrigerate", 7),
    "avocado": ("250", "refrigerate", 4),
    "butternut": ("303", "pantry", 42),
}
OPENED = {
    "coconut_milk": ("602", "refrigerate_after_opening", 4),
    "chickpeas_tin": ("372", "refrigerate_after_opening", 4),
    "tomatoes_tin": ("373", "refrigerate_after_opening", 7),
}
SPAN_DAYS = {"Days": 1, "Weeks": 7}


def longest_days(product: str, column: str) -> int:
    """The end of a span such as 3-5 Days, as FoodKeeper writes it."""
    found = re.fullmatch(r"\d+-(\d+) (\w+)", foodkeeper()[product][column])
    assert found is not None
    return int(found[1]) * SPAN_DAYS[found[2]]


@pytest.fixture(scope="module")
def delivered(tmp_path_factory) -> Planned:
    """A dish of each of these foods on Monday, delivered that day."""
    foods = {**DELIVERED, **OPENED}
    dishes = [dish(f"of_{food}") for food in foods]
    lines = [line(f"of_{food}", food, 100) for food in foods]
    folder = tmp_path_factory.mktemp("delivered")
    return planned(write_cafe(folder, pantry(*foods), dishes, lines))


@pytest.mark.parametrize("food", DELIVERED)
def test_a_delivery_is_planned_for_no_longer_than_foodkeeper_says(delivered, main_job, food):
    product, column, most = DELIVERED[food]
    assert longest_days(product, column) == most
    lives = lot_lives(delivered.plan, delivered.cafe)
    ours = (lives[f"bought-{MON}-van-{food}"] - MON).days + 1
    figure = f"{food.replace('_', ' ')} keeps, days"
    main_job(delivered.plan, "storage", KEEPER, figure, (1, most), ours)


@pytest.mark.parametrize("food", OPENED)
def test_an_opened_tin_is_planned_for_no_longer_than_foodkeeper_says(delivered, main_job, food):
    product, column, most = OPENED[food]
    assert longest_days(product, column) == most
    cut = delivered.row("prep", task="open", item=food)
    ours = (cut["then_use_by"] - cut["date"]).days + 1
    figure = f"{food.replace('_', ' ')} opened, days"
    main_job(delivered.plan, "storage", KEEPER, figure, (1, most), ours)


def test_no_dish_of_the_sample_outlives_leftovers(sample, outside):
    """Leftovers without meat: 3 to 4 days in the refrigerator, the shorter of two rules."""
    ours = max(one.hold_days for one in sample.cafe.dishes.values())
    figure = "longest life of a sample dish, days"
    assert longest_days("174", "refrigerate") == 4
    outside("storage", KEEPER, figure, (1, 4), ours)


def test_nothing_opened_in_the_sample_outlives_seven_days(sample, outside):
    """Dry goods aside: the date mark is for what is kept cold once opened."""
    ours = max(
        one.opened_keeps_days for one in sample.cafe.ingredients.values() if one.form != "dry"
    )
    figure = "longest life of an opened piece, days"
    outside("food safety", MINNESOTA, figure, (1, 7), ours)
