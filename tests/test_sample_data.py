"""The sample cafe is what it claims to be: large enough, sourced, and cautious.

Its sourced figures are checked in test_sample_sources.py.
"""

from __future__ import annotations

import csv
from collections import Counter
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pytest

from optimiser import nutrition
from optimiser.cafe import AMINO_ACIDS, VEG_GROUPS, Cafe, Dish, Form, State
from optimiser.tables import read_folder

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "sample_data"
Row = dict[str, str]


def rows(path: Path) -> list[Row]:
    with path.open(encoding="utf-8-sig", newline="") as table:
        return list(csv.DictReader(table))


@cache
def sample() -> Cafe:
    return read_folder(SAMPLE).cafe


@cache
def sr28() -> dict[str, Row]:
    return {row["ndb_no"]: row for row in rows(ROOT / "tests/data/usda_sr28_plant_foods.csv")}


# --- size


@pytest.mark.parametrize(
    ("course", "least"), [("salad", 36), ("main", 20), ("grain", 10), ("component", 1)]
)
def test_there_are_enough_dishes_of_each_course(course: str, least: int) -> None:
    assert sum(dish.course == course for dish in sample().dishes.values()) >= least


def test_there_are_enough_ingredients_suppliers_and_stock_lots() -> None:
    assert len(sample().ingredients) >= 110
    assert len(sample().suppliers) == 4
    assert len(sample().stock) >= 25


def test_twenty_items_have_a_year_of_weekly_prices() -> None:
    yearly = {
        offer.ingredient
        for offer in sample().offers
        if longest_weekly_run([one.from_date for one in offer.prices if one.from_date]) >= 52
    }
    assert len(yearly) >= 20


def longest_weekly_run(days: list[date]) -> int:
    """Most dates in a row that are exactly a week apart."""
    longest = run = 0
    for n, day in enumerate(days):
        run = run + 1 if n and day - days[n - 1] == timedelta(days=7) else 1
        longest = max(longest, run)
    return longest


def test_history_covers_eight_weeks_and_never_sells_more_than_was_cooked() -> None:
    history = sample().history
    assert len({one.day.isocalendar()[:2] for one in history}) >= 8
    assert [one for one in history if one.sold + one.binned > one.cooked + 1e-9] == []
    assert [one for one in history if one.day.weekday() not in sample().open_days] == []


def test_every_ingredient_of_a_dish_can_be_bought() -> None:
    used = {item for dish in sample().dishes for item in nutrition.parts(sample(), dish)}
    assert sorted(used - set(sample().offers_of)) == []


# --- recipes


def test_every_recipe_weighs_what_its_portions_weigh() -> None:
    wrong = []
    for dish in sample().dishes.values():
        raw_g = sum(one.edible_g for one in dish.lines)
        assert dish.cooked_yield_pct is not None, dish.id
        ratio = raw_g * dish.cooked_yield_pct / 100 / (dish.portions * dish.portion_g)
        if abs(ratio - 1) > 0.02:
            wrong.append(f"{dish.id}: {ratio:.3f}")
    assert wrong == []


@pytest.mark.parametrize(
    ("dish", "dry", "cooked"),
    [
        ("cooked_quinoa", "20035", "20137"),
        ("cooked_brown_rice", "20036", "20037"),
        ("cooked_chickpeas", "16056", "16057"),
        ("cooked_green_lentils", "16069", "16070"),
    ],
)
def test_cooked_grain_and_pulses_gain_the_water_that_sr28_shows(
    dish: str, dry: str, cooked: str
) -> None:
    # the dry matter stays: (100 - water dry) / (100 - water cooked)
    swelling = (100 - float(sr28()[dry]["water_g"])) / (100 - float(sr28()[cooked]["water_g"]))
    recipe = sample().dishes[dish]
    dry_g = max(line.edible_g for line in recipe.lines)
    assert recipe.portions * recipe.portion_g / dry_g == pytest.approx(swelling, rel=0.03)


def test_a_dish_gains_weight_only_with_dry_goods_in_it_and_a_raw_one_loses_next_to_none() -> None:
    swells = {"grain", "pulse"}
    wrong = []
    for dish in sample().dishes.values():
        yield_pct = dish.cooked_yield_pct or 0.0
        dry = [
            line
            for line in dish.lines
            if (one := sample().ingredients.get(line.item))
            and one.form is Form.DRY
            and one.group in swells
        ]
        least = 97.0 if dish.method == "raw" else 60.0
        most = 101.0 if not dry and dish.course in ("salad", "main") else 320.0
        if not least <= yield_pct <= most:
            wrong.append(f"{dish.id}: {dish.method} {yield_pct}")
    assert wrong == []


def test_every_dish_has_lines_and_numbered_steps() -> None:
    def is_written(dish: Dish) -> bool:
        numbers = [step.number for step in dish.steps]
        return bool(dish.lines) and numbers == list(range(1, len(numbers) + 1)) and numbers != []

    assert [dish.id for dish in sample().dishes.values() if not is_written(dish)] == []


def test_no_dish_breaks_the_vegan_diet_and_doubt_comes_only_from_unread_labels() -> None:
    answers = {dish: nutrition.diet(sample(), dish, "vegan") for dish in sample().dishes}
    assert [dish for dish, answer in answers.items() if answer == "no"] == []
    unread = {d for d in answers if nutrition.allergens(sample(), d).unknown_from}
    assert {d for d, answer in answers.items() if answer == "unknown"} == unread
    assert unread, "the sample should show what an unread label looks like"


def test_honey_is_there_to_be_refused() -> None:
    assert "vegan" in sample().ingredients["honey"].diets_excluded
    assert sample().ingredients["honey"].allergens == frozenset()


def test_every_allergen_is_spelled_as_the_law_lists_it() -> None:
    spelled = {name for one in sample().ingredients.values() for name in one.allergens or ()}
    assert spelled <= nutrition.KNOWN_ALLERGENS["eu"] | nutrition.KNOWN_ALLERGENS["anz"]


def test_excluded_diets_agree_with_the_allergens() -> None:
    wrong = [
        (one.id, diet)
        for one in sample().ingredients.values()
        for diet, names in {
            "gluten_free": {"wheat", "barley", "rye", "oats", "gluten"},
            "nut_free": {"almond", "cashew", "hazelnut", "pecan", "pistachio", "walnut", "peanut"},
        }.items()
        if one.allergens and one.allergens & names and diet not in one.diets_excluded
    ]
    assert wrong == []


def test_nearly_every_sold_dish_shows_a_colour_and_has_a_hero() -> None:
    dishes = [dish.id for dish in sold()]
    assert [dish for dish in dishes if nutrition.main_colour(sample(), dish) is None] == []
    assert [dish for dish in dishes if nutrition.hero(sample(), dish) is None] == []
    colours = Counter(nutrition.main_colour(sample(), dish) for dish in dishes)
    assert len(colours) >= 5


def sold() -> list[Dish]:
    return [dish for dish in sample().dishes.values() if dish.course in sample().courses]


def test_every_sold_dish_says_how_it_is_cooked_eaten_and_where_from() -> None:
    assert [one.id for one in sold() if not (one.cuisine and one.method and one.texture)] == []
    assert len({dish.cuisine for dish in sold()}) >= 5
    dishes = sample().dishes.values()
    assert [one.id for one in dishes if (one.oven_min > 0) != (one.oven_c is not None)] == []
    assert len({one.oven_c for one in dishes if one.oven_c}) >= 4


@pytest.mark.parametrize("course", ["salad", "main", "grain"])
def test_each_course_but_soup_has_something_crunchy(course: str) -> None:
    assert sum(one.course == course and one.texture == "crunchy" for one in sold()) >= 2


# --- what is known of nutrients


def amino_known_share(dish: Dish, amino: str) -> float:
    """Share of a dish's protein whose content of one amino acid is known; 0 without protein."""
    all_g = known_g = 0.0
    for item, edible_g in nutrition.edible_parts(sample(), dish.id).items():
        one = sample().ingredients[item]
        protein_g = edible_g * (one.protein_g or 0.0) / 100
        all_g += protein_g
        known_g += protein_g if amino in one.amino_mg_per_g_protein else 0.0
    return known_g / all_g if all_g else 0.0


@pytest.mark.parametrize(("course", "least"), [("salad", 20), ("main", 10), ("grain", 6)])
def test_enough_dishes_have_amino_acids_known_for_95_of_100_g_of_protein(
    course: str, least: int
) -> None:
    known = [
        dish.id
        for dish in sold()
        if dish.course == course
        and all(amino_known_share(dish, amino) >= 0.95 for amino in AMINO_ACIDS)
    ]
    assert len(known) >= least


def test_what_nobody_measured_is_unknown_and_not_nothing() -> None:
    ingredients = sample().ingredients
    for item in ("soy_sauce", "white_miso", "capers", "olives_jar", "tempeh"):
        assert ingredients[item].sodium_mg is None and ingredients[item].fibre_g is None
        assert ingredients[item].amino_mg_per_g_protein == {}
    assert ingredients["coconut_milk"].fibre_g is None  # SR28 has its sodium, not its fibre
    assert ingredients["kale"].amino_mg_per_g_protein == {}
    assert ingredients["olive_oil"].fibre_g == 0.0  # measured as nothing
    without_protein = [one for one in ingredients.values() if one.protein_g == 0]
    assert [one.id for one in without_protein if one.amino_mg_per_g_protein] == []


@pytest.mark.parametrize("figure", ["sodium_mg", "fibre_g"])
def test_some_dishes_have_their_sodium_and_fibre_known_and_others_an_unread_part(
    figure: str,
) -> None:
    def is_known(dish: Dish) -> bool:
        parts = nutrition.edible_parts(sample(), dish.id)
        return all(getattr(sample().ingredients[item], figure) is not None for item in parts)

    known = sum(is_known(dish) for dish in sold())
    assert 15 <= known <= len(sold()) - 15


# --- vegetable groups, fridge, flexible lines


def test_every_vegetable_group_is_in_several_dishes() -> None:
    dishes_of = Counter(
        group
        for dish in sold()
        for group in {
            sample().ingredients[item].veg_group for item in nutrition.parts(sample(), dish.id)
        }
    )
    assert [group for group in VEG_GROUPS if dishes_of[group] < 5] == []


def test_dry_goods_tins_and_squash_take_no_room_in_the_fridge_while_whole() -> None:
    ingredients = sample().ingredients
    cold = {one.id for one in ingredients.values() if one.fridge_l_per_kg is not None}
    assert [item for item in cold if ingredients[item].form is Form.DRY] == []
    assert not cold & {"butternut", "kent_pumpkin", "onion", "red_onion", "potato"}
    assert [item for item in cold if "tin" in item or item == "coconut_milk"] == []
    assert {one.id for one in ingredients.values() if one.group in ("herb", "leaf")} <= cold
    roomy = [item for item in cold if not 1 <= (ingredients[item].fridge_l_per_kg or 0) <= 10]
    assert roomy == []


def test_only_whole_things_are_stretched_and_never_spices_oils_or_sauces() -> None:
    flexible = [(dish, line) for dish in sold() for line in dish.lines if line.flexible]
    assert 25 <= len(flexible) <= 40
    ingredients = sample().ingredients
    assert [
        (dish.id, line.item)
        for dish, line in flexible
        if line.item not in ingredients
        or ingredients[line.item].form is not Form.WHOLE
        or ingredients[line.item].group in ("spice", "oil", "sauce")
    ] == []
    everywhere = sum(line.flexible for dish in sample().dishes.values() for line in dish.lines)
    assert everywhere == len(flexible)  # no cooked part is stretched: others count on its weight
    assert {"salad", "main", "soup"} <= {dish.course for dish, _ in flexible}


# --- lives and lots


def test_lives_are_cautious() -> None:
    dishes, ingredients = sample().dishes.values(), sample().ingredients.values()
    assert [dish.id for dish in dishes if not 1 <= dish.hold_days <= 7] == []
    cut = [one for one in ingredients if one.form is not Form.DRY]  # dry goods are only weighed
    assert [one.id for one in cut if not 1 <= one.opened_keeps_days <= 7] == []
    rice = {"white_rice", "brown_rice", "wild_rice"}
    with_rice = [dish for dish in dishes if rice & set(nutrition.parts(sample(), dish.id))]
    assert len(with_rice) >= 4
    assert [dish.id for dish in with_rice if dish.hold_days > 3] == []


def test_a_cut_piece_never_outlives_the_whole_one() -> None:
    longer = [
        one.id for one in sample().ingredients.values() if one.opened_keeps_days > one.keeps_days
    ]
    assert longer == []


def test_stock_holds_the_lots_that_make_a_monday_hard() -> None:
    cafe = sample()
    opened = {lot.item: lot for lot in cafe.stock if lot.state is State.OPENED}
    for item in ("butternut", "coconut_milk"):
        piece_g = cafe.ingredients[item].piece_g
        assert piece_g is not None
        assert 0.3 <= opened[item].grams / piece_g <= 0.7
    cooked = [lot.item for lot in cafe.stock if lot.state is State.COOKED]
    groups = {
        cafe.ingredients[part].group for dish in cooked for part in nutrition.parts(cafe, dish)
    }
    assert "grain" in groups
    assert cafe.week is not None
    soon = cafe.week + timedelta(days=2)
    surplus = [
        lot
        for lot in cafe.stock
        if lot.state is State.WHOLE and lot.use_by and cafe.week <= lot.use_by <= soon
    ]
    assert any(lot.grams >= 1000 for lot in surplus)


def test_every_lot_is_still_good_when_the_week_begins() -> None:
    week = sample().week
    assert week is not None
    assert [lot.id for lot in sample().stock if lot.use_by and lot.use_by < week] == []
