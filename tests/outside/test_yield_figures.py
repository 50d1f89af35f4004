"""What is left after trimming, and what dry food weighs when cooked.

Sources
- USDA SR28: edible portion % = 100 - refuse %; its manual names Agriculture
  Handbooks 102 and 456.
- Dry to cooked: weight = (100 - water dry) / (100 - water cooked), computed from SR28.
- BCcampus, Basic Kitchen and Food Service Management (CC BY 4.0), chapter 12.
"""

from __future__ import annotations

import pytest

from tests.outside.bench import (
    COMMON,
    ROOT,
    Planned,
    dish,
    line,
    pantry,
    planned,
    sr28,
    table,
    write_cafe,
)

REFUSE = "USDA SR28, refuse"
EDIBLE_PCT = {
    "butternut": 84, "kent_pumpkin": 70, "onion": 90, "spring_onion": 96, "carrot": 89,
    "beetroot": 67, "capsicum_red": 82, "avocado": 74, "lemon": 53, "spinach": 72, "mint": 41,
    "coriander": 85, "green_cabbage": 80, "broccoli": 61, "cauliflower": 39, "kale": 72,
    "cucumber": 97, "eggplant": 81, "sweet_potato": 72, "tomato": 91, "garlic": 87,
}  # fmt: skip


@pytest.fixture(scope="module")
def trimmed(tmp_path_factory) -> Planned:
    """A kilo, prepared, of each food of the sample."""
    dishes = [dish(f"bowl_of_{food}") for food in EDIBLE_PCT]
    lines = [line(f"bowl_of_{food}", food, 1, "kg") for food in EDIBLE_PCT]
    folder = tmp_path_factory.mktemp("trimmed")
    return planned(write_cafe(folder, pantry(*EDIBLE_PCT), dishes, lines))


@pytest.mark.parametrize("food", EDIBLE_PCT)
def test_the_sample_buys_as_much_as_the_tables_refuse_asks_for(trimmed, main_job, food):
    ours = 100 * 1000 / trimmed.grams(f"bowl_of_{food}", food)
    figure = f"edible part of {food.replace('_', ' ')}, %"
    main_job(trimmed.plan, "yields", REFUSE, figure, EDIBLE_PCT[food], ours, within=0.01)


def test_carrots_of_800_g_are_bought_as_a_kilo(tmp_path, main_job):
    """1 kg as purchased gives 800 g: 80 %. SR28 gives carrots 89 %; the line's own wins."""
    folder = write_cafe(
        tmp_path, pantry("carrot"), [dish("sticks")], [line("sticks", "carrot", 800, yield_pct=80)]
    )
    week = planned(folder)
    ours = week.grams("sticks", "carrot")
    main_job(week.plan, "yields", "BCcampus ch. 12", "carrots bought for 800 g, g", 1000, ours,
             within=0.01)  # fmt: skip


COOKED = {
    # component of the sample: dry food, SR28 dry and cooked, times its dry weight
    "cooked_quinoa": ("quinoa", "20035", "20137", 3.05),
    "cooked_brown_rice": ("brown_rice", "20036", "20037", 2.97),
    "cooked_chickpeas": ("chickpeas_dry", "16056", "16057", 2.32),
    "cooked_green_lentils": ("green_lentils", "16069", "16070", 3.02),
}


@pytest.fixture(scope="module")
def cooked(tmp_path_factory) -> Planned:
    """Each cooked part of the sample, recipe as it stands, in a dish of 2 kg of it."""
    sample = ROOT / "sample_data"
    parts = [row for row in table(sample / "dishes.csv") if row["dish"] in COOKED]
    lines = [row for row in table(sample / "recipe_lines.csv") if row["dish"] in COOKED]
    dishes = [dish(f"bowl_of_{part}", portion_g=200) for part in COOKED]
    lines += [line(f"bowl_of_{part}", part, 2000) for part in COOKED]
    foods = pantry(*(one[0] for one in COOKED.values()), "salt")
    folder = tmp_path_factory.mktemp("cooked")
    return planned(write_cafe(folder, foods, [*parts, *dishes], lines))


@pytest.mark.parametrize("part", COOKED)
def test_dry_food_gains_the_weight_that_the_tables_water_says(cooked, main_job, part):
    food, dry, boiled, times = COOKED[part]
    water = [float(sr28()[ndb]["water_g"]) for ndb in (dry, boiled)]
    assert (100 - water[0]) / (100 - water[1]) == pytest.approx(times, abs=0.005)
    portions = sum(cook.portions for cook in cooked.plan.cooks if cook.dish == part)
    finished_g = portions * cooked.cafe.dishes[part].portion_g
    dry_g = sum(u.grams for u in cooked.plan.uses if (u.dish, u.item) == (part, food))
    figure = f"{food.replace('_', ' ')}, times its dry weight"
    main_job(cooked.plan, "cooked", "USDA SR28, water", figure, times, finished_g / dry_g,
             within=0.05)  # fmt: skip


def test_cooked_grain_is_used_next_day(custom, sample):
    grains = [sample.cafe.dishes[one] for one in ("cooked_quinoa", "cooked_brown_rice")]
    least = min(grain.hold_days for grain in grains)
    custom("customs", COMMON, "cooked grain is used next day, days", (2, 4), least)
