"""Protein, lysine and yields against published tables.

USDA SR28: the USDA National Nutrient Database for Standard Reference, Release
28 (public domain), `tests/data/usda_sr28_plant_foods.csv`, per 100 g edible.
Scoring patterns for lysine, mg per g protein: WHO/FAO/UNU 2007 (TRS 935),
adult: 45; FAO 2013 (Food and Nutrition Paper 92, Table 5), over 3 years: 48.
Allergen names: EU 1169/2011 Annex II and the FSANZ code, Schedule 9.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import pytest

from optimiser import amino, nutrition
from optimiser.cafe import Cafe, Course, Dish, Form, Ingredient, Line

SR28 = Path(__file__).parents[1] / "data" / "usda_sr28_plant_foods.csv"
WHO_2007_LYSINE = 45
FAO_2013_LYSINE = 48

QUINOA, WHITE_RICE, WHOLE_WHEAT = "20035", "20444", "20080"
CHICKPEA, LENTIL, ALMOND, SUNFLOWER = "16056", "16069", "12061", "12036"
CARROT, BUTTERNUT, OLIVE_OIL, HONEY = "11124", "11485", "04053", "19296"


@cache
def sr28() -> dict[str, dict[str, str]]:
    with SR28.open(encoding="utf-8", newline="") as table:
        return {row["ndb_no"]: row for row in csv.DictReader(table)}


def food(ndb: str) -> Ingredient:
    row = sr28()[ndb]
    protein = float(row["protein_g"])
    return Ingredient(
        id=f"ndb_{ndb}",
        name=row["description"],
        form=Form.DRY,
        yield_pct=100 - float(row["refuse_pct"]),
        protein_g=protein,
        amino_mg_per_g_protein={"lys": 1000 * float(row["lys_g"]) / protein} if protein else {},
        allergens=frozenset(),
        source=f"SR28 {ndb}",
    )


def bowl(**grams: float) -> Cafe:
    """One portion of raw foods; keys are `n` and an NDB number."""
    foods = {ndb: food(ndb[1:]) for ndb in grams}
    lines = tuple(
        Line(
            item=foods[ndb].id,
            qty=mass,
            unit="g",
            edible_g=mass,
            yield_pct=foods[ndb].yield_pct,
        )
        for ndb, mass in grams.items()
    )
    return Cafe(
        name="Table",
        courses={"salad": Course(slots=1, price_cents=1, take_up=1, portion_g=1)},
        ingredients={one.id: one for one in foods.values()},
        dishes={
            "bowl": Dish(
                id="bowl", name="bowl", course="salad", portions=1, portion_g=100, lines=lines
            )
        },
    )


def lysine(**grams: float) -> float:
    found = amino.mg_per_g_protein(bowl(**grams), {"bowl": 1}, "lys")
    assert found is not None
    return found


def test_rice_and_lentils_complete_each_other() -> None:
    mixed = {f"n{WHITE_RICE}": 50, f"n{LENTIL}": 50}
    assert nutrition.protein_g(bowl(**mixed), "bowl") == pytest.approx(15.88, abs=0.005)
    assert lysine(**mixed) == pytest.approx(62.3, abs=0.05)
    assert lysine(**{f"n{WHITE_RICE}": 50}) < WHO_2007_LYSINE < lysine(**mixed)


@pytest.mark.parametrize(
    ("ndb", "score"),
    [(WHITE_RICE, 0.754), (WHOLE_WHEAT, 0.566), (ALMOND, 0.559), (SUNFLOWER, 0.939)],
)
def test_the_lysine_score_of_a_single_food_is_the_published_one(ndb: str, score: float) -> None:
    # SR28 against FAO 2013, over 3 years, without digestibility; lysine is limiting in all four
    assert lysine(**{f"n{ndb}": 30}) / FAO_2013_LYSINE == pytest.approx(score, abs=0.0005)


@pytest.mark.parametrize("ndb", [QUINOA, CHICKPEA, LENTIL])
def test_quinoa_and_pulses_reach_both_lysine_patterns(ndb: str) -> None:
    assert lysine(**{f"n{ndb}": 80}) > FAO_2013_LYSINE > WHO_2007_LYSINE


def test_oil_adds_neither_protein_nor_doubt_about_lysine() -> None:
    # SR28 gives olive oil 0 g protein, so it has no lysine per gram of protein
    dressed = {f"n{LENTIL}": 60, f"n{OLIVE_OIL}": 20}
    assert lysine(**dressed) == pytest.approx(lysine(**{f"n{LENTIL}": 60}))
    assert nutrition.protein_g(bowl(**dressed), "bowl") == pytest.approx(0.6 * 24.63)


def test_a_mixture_lies_between_its_parts_and_moves_with_its_protein() -> None:
    shares = [lysine(**{f"n{WHITE_RICE}": 100 - n, f"n{LENTIL}": n}) for n in range(5, 100, 5)]
    assert shares == sorted(shares)
    assert lysine(**{f"n{WHITE_RICE}": 1}) < shares[0]
    assert shares[-1] < lysine(**{f"n{LENTIL}": 1})


def test_table_refuse_becomes_purchased_weight() -> None:
    # SR28: carrot 89 % and butternut 84 % edible
    trimmed = nutrition.parts(bowl(**{f"n{CARROT}": 89, f"n{BUTTERNUT}": 42}), "bowl")
    assert trimmed[f"ndb_{CARROT}"].purchased_g == pytest.approx(100)
    assert trimmed[f"ndb_{BUTTERNUT}"].purchased_g == pytest.approx(50)


def test_the_eu_list_has_fourteen_groups() -> None:
    groups = [
        {"wheat", "spelt", "khorasan", "rye", "barley", "oats", "gluten"},
        {"almond", "hazelnut", "walnut", "cashew", "pecan", "brazil_nut", "pistachio"}
        | {"macadamia"},
        *({one} for one in "crustacean egg fish peanut soy milk celery mustard".split()),
        *({one} for one in "sesame sulphites lupin mollusc".split()),
    ]
    assert len(groups) == 14
    assert frozenset().union(*groups) == nutrition.KNOWN_ALLERGENS["eu"]


def test_the_australian_and_new_zealand_list_has_the_names_of_schedule_9() -> None:
    names = (
        "sulphites barley oats rye wheat gluten almond brazil_nut cashew hazelnut macadamia pecan "
        "pine_nut pistachio walnut crustacean egg fish milk mollusc peanut sesame soy lupin"
    )
    assert set(names.split()) == nutrition.KNOWN_ALLERGENS["anz"]


def test_honey_is_not_vegan_though_no_list_names_it() -> None:
    plain = bowl(**{f"n{HONEY}": 20})
    honey = plain.ingredients[f"ndb_{HONEY}"].model_copy(
        update={"diets_excluded": frozenset({"vegan"})}
    )
    named = plain.model_copy(update={"ingredients": {honey.id: honey}})
    assert nutrition.diet(named, "bowl", "vegan") == "no"
    assert nutrition.allergens(named, "bowl").contains == frozenset()
