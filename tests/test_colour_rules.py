"""Colours and vegetable groups of dishes with several ingredients."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser import nutrition
from optimiser.cafe import Cafe, Line
from optimiser.rules.colour import DishColours
from optimiser.rules.veg_groups import VegGroupsDaily
from tests.rule_cases.base import COURSES, DAYS, MAINS, SALADS, on_days, plan
from tests.rule_weeks import MON, amounts, tiny_cafe

GRAMS = {"lentil": 1000, "kale": 500, "beet": 500, "tofu": 200, "pumpkin": 10}


def cafe_with(**lines: dict[str, float]) -> Cafe:
    """The tiny cafe whose dishes have these grams of their items."""
    dishes = dict(tiny_cafe().dishes)
    for dish, grams in lines.items():
        made = tuple(Line(item=i, qty=g, unit="g", edible_g=g) for i, g in grams.items())
        dishes[dish] = dishes[dish].model_copy(update={"lines": made})
    return tiny_cafe(dishes=dishes)


RECIPES = st.dictionaries(st.sampled_from(sorted(GRAMS)), st.sampled_from([1, 50, 400]), min_size=1)


@settings(max_examples=60, deadline=None)
@given(
    recipes=st.fixed_dictionaries({dish: RECIPES for dish in ("kale_slaw", "beet_salad", "soup")}),
    board=st.lists(st.sampled_from([*SALADS, *MAINS]), min_size=1, max_size=4, unique=True),
    days=st.sets(st.sampled_from(DAYS), min_size=1),
    course=COURSES,
    number=st.integers(2, 4),
)
def test_rows_and_check_charge_the_same_for_dishes_of_many_colours(
    recipes, board, days, course, number
):
    cafe = cafe_with(**recipes)
    week = plan(*on_days(*board, days=tuple(sorted(days))), cafe=cafe)
    for rule in (
        DishColours(course=course, colours=number),
        VegGroupsDaily(course=course, groups=number),
    ):
        by_rows, by_check = amounts(rule, week, cafe)
        assert by_rows == pytest.approx(by_check, abs=1e-5)


def test_a_dish_shows_a_vegetable_group_from_eight_percent_of_what_has_one():
    """Quinoa has no group: 8 of the other 100 g are enough, 7 are not."""
    cafe = cafe_with(
        soup={"kale": 92, "beet": 8, "quinoa": 900},
        tofu_bake={"kale": 93, "beet": 7},
        kale_bowl={"lentil": 30, "tofu": 30, "kale": 40},
        grain_bake={"quinoa": 100},
    )
    assert nutrition.veg_groups(cafe, "soup") == ("dark_green", "other")
    assert nutrition.veg_groups(cafe, "tofu_bake") == ("dark_green",)
    assert nutrition.veg_groups(cafe, "kale_bowl") == ("pulses", "dark_green")  # tofu is a pulse
    assert nutrition.veg_groups(cafe, "grain_bake") == ()


def test_what_is_not_seen_shows_no_vegetable_group():
    cafe = cafe_with(soup={"kale": 50, "beet": 50})
    soup = cafe.dishes["soup"]
    hidden = soup.lines[1].model_copy(update={"visible": False})
    dishes = cafe.dishes | {"soup": soup.model_copy(update={"lines": (soup.lines[0], hidden)})}
    assert nutrition.veg_groups(tiny_cafe(dishes=dishes), "soup") == ("dark_green",)


def test_a_rule_that_gives_way_names_dish_and_number():
    cafe = cafe_with(kale_slaw={"kale": 50, "beet": 50})
    week = plan(*on_days("kale_slaw", "lentil_salad", days=(MON,)), cafe=cafe)
    colours = DishColours(colours=3)
    assert colours.concede(week, cafe, colours.check(week, cafe)) == [
        ("show Kale slaw with 2 colours instead of 3", MON),
        ("show Lentil salad with 1 colour instead of 3", MON),
    ]
    groups = VegGroupsDaily(groups=4)
    assert groups.concede(week, cafe, groups.check(week, cafe)[:1]) == [
        ("3 vegetable groups instead of 4", MON)
    ]
