"""Cups, spoons and what they weigh.

Sources
- GNU units 2.22, run: metriccup 250 ml, australiatablespoon 20 ml, britishtablespoon
  15 ml, metric teaspoon 5 ml. NSW Health prints the Australian ones.
- pint's own general registry: the US cup, 16 US tablespoons; a second opinion on
  kilograms and litres.
- USDA SR28 (public domain): grams in a US cup of 236.588236 ml.
"""

from __future__ import annotations

from functools import cache

import pint
import pytest

from optimiser.cli import main
from optimiser.units import Measures, grams_of_ingredient, millilitres
from tests.outside.bench import Planned, dish, line, pantry, planned, write_cafe

GNU, PINT, CUP = "GNU units 2.22", "pint, general registry", "USDA SR28, US cup"
US_CUP_ML, US_TBSP_ML, US_TSP_ML = 236.588236, 14.7867648, 4.92892159
WATER = {"ingredient": "water", "name": "Water", "form": "dry", "g_per_ml": 1}
UNITS = ("cup", "tbsp", "tsp", "l")


def water_week(path, settings: str = "") -> Planned:
    """One dish per unit, each with ten of it, so that grams are millilitres."""
    dishes = [dish(f"by_{unit}") for unit in UNITS]
    lines = [line(f"by_{unit}", "water", 10, unit) for unit in UNITS]
    return planned(write_cafe(path, [WATER], dishes, lines, settings=settings))


@pytest.mark.parametrize(
    ("unit", "ml", "settings", "figure"),
    [
        ("cup", 250, "", "metric cup, as default, ml"),
        ("tbsp", 20, "", "Australian tablespoon, as default, ml"),
        ("tsp", 5, "", "metric teaspoon, ml"),
        ("tbsp", 15, "tbsp_ml = 15", "British and NZ tablespoon, ml"),
        ("tsp", 5, "tbsp_ml = 15", "teaspoon beside a British tablespoon"),
    ],
)
def test_a_measure_holds_what_gnu_units_says(tmp_path, main_job, unit, ml, settings, figure):
    week = water_week(tmp_path, settings)
    ours = week.grams(f"by_{unit}", "water") / 10
    main_job(week.plan, "units", GNU, figure, ml, ours, within=1e-3)


def test_sixteen_us_tablespoons_fill_a_us_cup(tmp_path, main_job):
    general = pint.UnitRegistry()
    week = water_week(tmp_path, f"cup_ml = {US_CUP_ML}\ntbsp_ml = {US_TBSP_ML}")
    theirs = general.Quantity(1, "cup").to("tablespoon").magnitude
    ours = week.grams("by_cup", "water") / week.grams("by_tbsp", "water")
    main_job(week.plan, "units", PINT, "US tablespoons in a US cup", theirs, ours, within=1e-4)


def test_a_litre_is_what_pint_says(tmp_path, main_job):
    week = water_week(tmp_path)
    theirs = pint.UnitRegistry().Quantity(1, "litre").to("ml").magnitude
    ours = week.grams("by_l", "water") / 10
    main_job(week.plan, "units", PINT, "a litre, ml", theirs, ours, within=1e-3)


def test_a_us_cup_in_a_cafe_that_uses_it(outside):
    theirs = pint.UnitRegistry().Quantity(2.5, "cup").to("ml").magnitude
    ours = millilitres(2.5, "cup", Measures(cup_ml=US_CUP_ML))
    outside("units", PINT, "two and a half US cups, ml", theirs, ours, within=1e-4)


def test_a_kilo_and_a_half_is_what_pint_says(outside):
    theirs = pint.UnitRegistry().Quantity(1.5, "kg").to("g").magnitude
    outside("units", PINT, "1.5 kg in g", theirs, grams_of_ingredient(1.5, "kg", Measures()))


def test_the_teaspoon_is_the_metric_one_not_the_american(outside):
    """They differ by 1.4 %; ours follows the metric one whatever the cup."""
    us = Measures(cup_ml=US_CUP_ML, tbsp_ml=US_TBSP_ML)
    ours = millilitres(1, "tsp", us)
    outside("units", PINT, "US teaspoon, ml; ours is metric", US_TSP_ML, ours, within=0.072)
    assert ours == 5


def test_a_pinch_is_no_measure(tmp_path, outside, capsys):
    """pint reads `pinch` as a pico-inch, a length; here it is a fault of the folder."""
    pinch = pint.UnitRegistry().Quantity(1, "pinch")
    assert pinch.to("inch").magnitude == pytest.approx(1e-12)
    theirs = "volume" if pinch.check("[volume]") else "no volume"
    folder = write_cafe(tmp_path, [WATER], [dish("a")], [line("a", "water", 1, "pinch")])
    refused = main(["check", str(folder)]) == 2 and "pinch" in capsys.readouterr().err
    outside("units", PINT, "pinch", theirs, "no volume" if refused else "taken")


CUPS = {
    "quinoa": 170,
    "white_rice": 185,
    "brown_rice": 185,
    "red_lentils": 192,
    "chickpeas_dry": 200,
    "couscous": 173,
    "spinach": 30,
    "carrot": 128,
    "broccoli": 91,
    "tofu_firm": 252,
    "olive_oil": 216,
    "peanut_butter": 258,
    "honey": 339,
}
"""Grams in a US cup, as SR28 prints them."""


@pytest.fixture(scope="module")
def cups(tmp_path_factory) -> Planned:
    """A metric cup of each food of the sample."""
    dishes = [dish(name_of(food)) for food in CUPS]
    lines = [line(name_of(food), food, 1, "cup", yield_pct=100) for food in CUPS]
    return planned(write_cafe(tmp_path_factory.mktemp("cups"), pantry(*CUPS), dishes, lines))


@cache
def name_of(food: str) -> str:
    return f"cup_of_{food}"


@pytest.mark.parametrize("food", CUPS)
def test_a_metric_cup_of_a_sample_food_weighs_what_the_us_cup_says(cups, main_job, food):
    theirs = CUPS[food] * 250 / US_CUP_ML
    ours = cups.grams(name_of(food), food)
    figure = f"250 ml of {food.replace('_', ' ')}, g"
    main_job(cups.plan, "cup weights", CUP, figure, theirs, ours, within=0.01 * theirs)


def test_coconut_milk_follows_the_tables_tablespoon(tmp_path, main_job):
    """SR28 disagrees with itself: 15 g a tablespoon (1.014 g/ml), 226 g a cup (0.955 g/ml).
    The sample's density follows the tablespoon."""
    folder = write_cafe(
        tmp_path,
        pantry("coconut_milk"),
        [dish("milk")],
        [line("milk", "coconut_milk", 100, "ml")],
    )
    week = planned(folder)
    theirs = 15 * 100 / US_TBSP_ML
    ours = week.grams("milk", "coconut_milk")
    source = "USDA SR28, tablespoon"
    main_job(week.plan, "cup weights", source, "100 ml of coconut milk, g", theirs, ours, within=1)


def test_a_drained_tin_of_chickpeas(tmp_path, main_job):
    """SR28: a can of 448 g holds 253 g drained."""
    folder = write_cafe(
        tmp_path,
        pantry("chickpeas_tin"),
        [dish("bowl")],
        [line("bowl", "chickpeas_tin", 2, "each")],
    )
    week = planned(folder)
    ours = week.grams("bowl", "chickpeas_tin") / 2
    figure = "a tin of chickpeas, drained, g"
    main_job(week.plan, "cup weights", "USDA SR28", figure, 253, ours, within=0.01)
