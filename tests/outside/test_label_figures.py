"""Allergens by law, on the labels of planned dishes.

Sources
- EU 1169/2011, Annex II: 14 groups.
- Food Standards Code of Australia and New Zealand, Schedule 9: its names. Pine nut is
  on that list only; celery and mustard are on the EU's only.
"""

from __future__ import annotations

import pytest

from optimiser.allergens import KNOWN_ALLERGENS, fits
from optimiser.cafe import Form, Ingredient
from tests.outside.bench import Planned, dish, line, pantry, planned, write_cafe

EU, ANZ = "EU 1169/2011 Annex II", "FSANZ code, Schedule 9"
EU_GROUPS = {
    "gluten cereals": {"wheat", "spelt", "khorasan", "rye", "barley", "oats", "gluten"},
    "crustaceans": {"crustacean"},
    "eggs": {"egg"},
    "fish": {"fish"},
    "peanuts": {"peanut"},
    "soybeans": {"soy"},
    "milk": {"milk"},
    "nuts": {
        "almond", "hazelnut", "walnut", "cashew", "pecan", "brazil_nut", "pistachio", "macadamia"
    },
    "celery": {"celery"},
    "mustard": {"mustard"},
    "sesame": {"sesame"},
    "sulphites": {"sulphites"},
    "lupin": {"lupin"},
    "molluscs": {"mollusc"},
}  # fmt: skip
EU_NAMES = sorted(frozenset().union(*EU_GROUPS.values()))
ANZ_NAMES = (
    "sulphites barley oats rye wheat gluten almond brazil_nut cashew hazelnut macadamia pecan "
    "pine_nut pistachio walnut crustacean egg fish milk mollusc peanut sesame soy lupin"
).split()

SAMPLE = {
    # food of the sample: what the law wants named, by which list
    "celery": ("celery", EU),
    "curry_powder": ("mustard", EU),
    "pine_nuts": ("pine_nut", ANZ),
    "lupin_flakes": ("lupin", EU),
    "tahini": ("sesame", EU),
    "tamari": ("soy", EU),
    "dried_apricots": ("sulphites", EU),
    "peanuts": ("peanut", EU),
    "cashews": ("cashew", EU),
    "coconut_milk": ("", EU),  # coconut is no nut of either list
}


def named(week: Planned, one: str) -> set[str]:
    """The allergens on the label of a dish, as ids (the label writes `pine nut`)."""
    contains = week.row("labels", dish=one)["contains"]
    if contains == "none named on the labels":
        return set()
    return {entry.split(" (")[0].replace(" ", "_") for entry in contains.split("; ")}


@pytest.fixture(scope="module")
def sampled(tmp_path_factory) -> Planned:
    """A dish of each of these foods, and one of grains with gluten, and one with honey."""
    dishes = [dish(f"of_{food}") for food in SAMPLE]
    lines = [line(f"of_{food}", food, 100) for food in SAMPLE]
    for food in ("rolled_oats", "pearl_barley", "spelt", "honey"):
        dishes.append(dish(f"of_{food}"))
        lines.append(line(f"of_{food}", food, 100))
    foods = pantry(*SAMPLE, "rolled_oats", "pearl_barley", "spelt", "honey")
    return planned(write_cafe(tmp_path_factory.mktemp("labels"), foods, dishes, lines))


@pytest.fixture(scope="module")
def listed(tmp_path_factory) -> Planned:
    """A dish with one food per name of the EU list, another with one per name of Schedule 9."""
    names = sorted({*EU_NAMES, *ANZ_NAMES})
    foods = [
        {"ingredient": f"x_{one}", "name": one, "form": "dry", "allergens": one} for one in names
    ]
    lines = [line("eu", f"x_{one}", 10) for one in EU_NAMES]
    lines += [line("anz", f"x_{one}", 10) for one in ANZ_NAMES]
    folder = tmp_path_factory.mktemp("lists")
    return planned(write_cafe(folder, foods, [dish("eu"), dish("anz")], lines))


def test_all_fourteen_groups_of_the_eu_reach_a_label(listed, main_job):
    found = named(listed, "eu")
    ours = sum(names <= found for names in EU_GROUPS.values())
    main_job(listed.plan, "allergens", EU, "groups named in full on a label", 14, ours)


def test_all_names_of_schedule_9_reach_a_label(listed, main_job):
    ours = len(named(listed, "anz") & set(ANZ_NAMES))
    main_job(listed.plan, "allergens", ANZ, "names on a label", 24, ours)


@pytest.mark.parametrize("food", SAMPLE)
def test_a_food_of_the_sample_names_its_allergen(sampled, main_job, food):
    name, source = SAMPLE[food]
    ours = " ".join(sorted(named(sampled, f"of_{food}")))
    figure = f"label of {food.replace('_', ' ')}"
    main_job(sampled.plan, "allergens", source, figure, name or "none", ours or "none")


@pytest.mark.parametrize("food", ["rolled_oats", "pearl_barley", "spelt"])
def test_oats_barley_and_spelt_are_cereals_with_gluten(sampled, main_job, food):
    ours = sampled.row("labels", dish=f"of_{food}")["gluten"].replace("contains ", "")
    figure = f"{food.replace('_', ' ')} contains"
    main_job(sampled.plan, "allergens", EU, figure, "gluten", ours)


def test_honey_is_on_no_list(sampled, main_job):
    ours = " ".join(named(sampled, "of_honey")) or "none"
    main_job(sampled.plan, "allergens", f"{EU}", "label of honey", "none", ours)


def test_honey_is_not_vegan_though_no_list_names_it(sampled):
    assert sampled.row("labels", dish="of_honey")["vegan"] == "not vegan"


@pytest.mark.parametrize(
    ("law", "names", "source"), [("eu", EU_NAMES, EU), ("anz", ANZ_NAMES, ANZ)]
)
def test_the_list_has_these_names_and_no_others(outside, law, names, source):
    ours = KNOWN_ALLERGENS[law]
    assert ours == set(names)
    outside("allergens", source, "names on the list", len(names), len(ours))


def only_on(one: str, other: str) -> str:
    return " ".join(sorted(KNOWN_ALLERGENS[one] - KNOWN_ALLERGENS[other] - {"spelt", "khorasan"}))


def test_pine_nut_is_on_schedule_9_only(outside):
    outside("allergens", ANZ, "on this list and not on the EU's", "pine_nut", only_on("anz", "eu"))


def test_celery_and_mustard_are_on_the_eu_list_only(outside):
    """Spelt and khorasan aside: kinds of wheat, which Schedule 9 names."""
    ours = len(set(only_on("eu", "anz").split()) & {"celery", "mustard"})
    assert only_on("eu", "anz") == "celery mustard"
    outside("allergens", EU, "celery and mustard on this list only", 2, ours)


@pytest.mark.parametrize("nut", sorted(EU_GROUPS["nuts"]))
def test_every_nut_of_the_eu_breaks_nut_free(nut):
    one = Ingredient(id="x", name="x", form=Form.DRY, allergens=frozenset({nut}))
    assert fits("nut_free", [one]) == "no"
