"""Amino-acid patterns, sums and scores: published figures, and food small enough to add up.

USDA SR28: the USDA National Nutrient Database for Standard Reference, Release 28 (public
domain), `tests/data/usda_sr28_plant_foods.csv`, grams per 100 g edible.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import get_args

import pytest

from optimiser import amino, nutrition
from optimiser.cafe import AMINO_ACIDS, Cafe, Course, Dish, Form, Ingredient, Line
from optimiser.rules.amino_score import Acid, AminoScore
from optimiser.rules.nutrients import PlateFibre, PlateSalt
from tests.rule_weeks import MON, tiny_cafe, week_plan

SR28 = Path(__file__).parent / "data" / "usda_sr28_plant_foods.csv"
ADULT = amino.PATTERNS["fao_2013_adult"]
Part = tuple[Ingredient, float]
COLUMNS = {
    **{acid: (f"{acid}_g",) for acid in ("his", "ile", "leu", "lys", "thr", "trp", "val")},
    "saa": ("met_g", "cys_g"),
    "aaa": ("phe_g", "tyr_g"),
}
QUINOA, WHITE_RICE, WHOLE_WHEAT, CHICKPEA = "20035", "20444", "20080", "16056"
LENTIL, ALMOND, SUNFLOWER, PUMPKIN = "16069", "12061", "12036", "11422"


@cache
def sr28() -> dict[str, dict[str, str]]:
    with SR28.open(encoding="utf-8", newline="") as table:
        return {row["ndb_no"]: row for row in csv.DictReader(table)}


def food(ndb: str) -> Ingredient:
    """A food of the table, with milligrams of every amino acid in a gram of protein."""
    row = sr28()[ndb]
    protein_g = float(row["protein_g"])
    mg = {
        acid: 1000 * sum(float(row[column]) for column in columns) / protein_g
        for acid, columns in COLUMNS.items()
    }
    return thing(f"ndb_{ndb}", protein_g, mg)


def thing(item: str, protein_g: float | None, mg: dict[str, float] | None = None) -> Ingredient:
    return Ingredient(
        id=item,
        name=item,
        form=Form.DRY,
        protein_g=protein_g,
        amino_mg_per_g_protein=mg or {},
    )


def cafe(**dishes: list[Part]) -> Cafe:
    """Dishes of one portion, made of so many grams of each ingredient."""
    return Cafe(
        name="Table",
        courses={"salad": Course(slots=1, price_cents=1, take_up=1, portion_g=1)},
        ingredients={one.id: one for parts in dishes.values() for one, _ in parts},
        dishes={name: dish(name, parts) for name, parts in dishes.items()},
    )


def dish(name: str, parts: list[Part]) -> Dish:
    lines = tuple(Line(item=one.id, qty=mass, unit="g", edible_g=mass) for one, mass in parts)
    return Dish(id=name, name=name, course="salad", portions=1, portion_g=100, lines=lines)


# --- published figures


@pytest.mark.parametrize(
    ("ndb", "score", "limiting"),
    [
        # SR28 against FAO 2013 (Food and Nutrition Paper 92, Table 5), over 3 years,
        # without digestibility
        (QUINOA, 0.975, "leu"),
        (WHITE_RICE, 0.754, "lys"),
        (WHOLE_WHEAT, 0.566, "lys"),
        (CHICKPEA, 1.056, None),
        (LENTIL, 0.939, "saa"),
        (ALMOND, 0.559, "lys"),
        (SUNFLOWER, 0.939, "lys"),
        (PUMPKIN, 0.609, "saa"),
    ],
)
def test_the_score_of_a_single_food_is_the_published_one(
    ndb: str, score: float, limiting: str | None
) -> None:
    found = amino.score(cafe(bowl=[(food(ndb), 40)]), {"bowl": 1}, ADULT)
    assert found is not None
    assert found.value == pytest.approx(score, abs=0.0005)
    assert limiting in (None, found.limiting)


def rice_and_lentils() -> Cafe:
    return cafe(rice=[(food(WHITE_RICE), 50)], lentils=[(food(LENTIL), 50)])


def test_grain_and_pulse_complete_each_other() -> None:
    # SR28, 50 g raw white rice and 50 g raw lentils against FAO 2013, over 3 years
    table, plate = rice_and_lentils(), {"rice": 1.0, "lentils": 1.0}
    protein_g = sum(nutrition.protein_g(table, one) for one in plate)
    assert protein_g == pytest.approx(15.88, abs=0.005)
    assert amino.mg_per_g_protein(table, plate, "lys") == pytest.approx(62.3, abs=0.05)
    assert amino.mg_per_g_protein(table, plate, "saa") == pytest.approx(26.6, abs=0.05)
    found = amino.score(table, plate, ADULT)
    assert found is not None and found.value == pytest.approx(1.158, abs=0.0005)
    apart = [amino.score(table, {one: 1}, ADULT) for one in plate]
    assert all(one is not None and one.value < 1 for one in apart)


@pytest.mark.parametrize(
    ("pattern", "mg"),
    [
        ("fao_2013_adult", (16, 30, 61, 48, 23, 41, 25, 6.6, 40)),  # Table 5, over 3 years
        ("fao_2013_child", (20, 32, 66, 57, 27, 52, 31, 8.5, 43)),  # Table 5, 0.5 to 3 years
        ("who_2007_adult", (15, 30, 59, 45, 22, 38, 23, 6, 39)),  # TRS 935, secondary source
    ],
)
def test_the_patterns_are_those_of_the_papers(pattern: str, mg: tuple[float, ...]) -> None:
    asked = amino.PATTERNS[pattern]
    order = ("his", "ile", "leu", "lys", "saa", "aaa", "thr", "trp", "val")
    assert tuple(asked[acid] for acid in order) == mg
    assert set(asked) == set(AMINO_ACIDS) == set(amino.ACID_WORDS)
    assert set(amino.PATTERNS) == set(amino.PATTERN_WORDS)


# --- by hand


def test_milligrams_are_known_protein_times_what_a_gram_of_it_holds() -> None:
    table = cafe(
        bowl=[
            (thing("bean", 20, {"lys": 70, "saa": 20}), 50),
            (thing("rice", 8, {"lys": 35}), 100),
            (thing("salt", None, {"lys": 99}), 1),
            (thing("oil", 0), 5),
        ]
    )
    found = amino.amino_mg(table, "bowl")
    assert found == pytest.approx({**dict.fromkeys(AMINO_ACIDS, 0), "lys": 700 + 280, "saa": 200})
    assert amino.amino_unknown(table, "bowl", ("lys",)) == ("salt",)
    assert amino.amino_unknown(table, "bowl", ("lys", "saa")) == ("rice", "salt")
    assert amino.amino_unknown(table, "bowl") == ("bean", "rice", "salt")


def test_the_score_is_that_of_the_least_amino_acid_of_all_portions_together() -> None:
    table = cafe(
        beans=[(thing("bean", 20, {"lys": 70, "saa": 20}), 50)],  # 10 g
        grains=[(thing("rice", 8, {"lys": 30, "saa": 40}), 100)],  # 8 g
    )
    pattern = {"lys": 50.0, "saa": 25.0}
    beans = amino.score(table, {"beans": 1}, pattern)
    assert beans is not None and (beans.value, beans.limiting) == (pytest.approx(0.8), "saa")
    # half of the beans and a rice: 13 g, lysine 350 + 240, sulphur 100 + 320
    both = amino.score(table, {"beans": 0.5, "grains": 1}, pattern)
    assert both is not None and both.value == pytest.approx(590 / 13 / 50)
    assert both.limiting == "lys"


@pytest.mark.parametrize(("protein_g", "known"), [(1.0, True), (1.1, False)])
def test_a_score_is_unknown_when_an_ingredient_above_5_percent_is(
    protein_g: float, known: bool
) -> None:
    # beside 19 g of the lentil's, 1 g is 5 % exactly and 1.1 g is more; it counts as none
    table = cafe(
        lentils=[(thing("lentil", 19, {"lys": 70}), 100)], seeds=[(thing("seed", protein_g), 100)]
    )
    plate = {"lentils": 1.0, "seeds": 1.0}
    found = amino.mg_per_g_protein(table, plate, "lys")
    assert found == (pytest.approx(70 * 0.95) if known else None)
    assert (amino.score(table, plate, {"lys": 50}) is not None) is known
    assert amino.mg_per_g_protein(table, {"lentils": 1}, "saa") is None


def test_a_score_is_unknown_beside_much_food_of_unknown_protein() -> None:
    lentil = thing("lentil", 19, {"lys": 70})
    table = cafe(
        half=[(lentil, 100), (thing("loaf", None), 100)],
        pinch=[(lentil, 99), (thing("salt", None), 1)],
    )
    assert amino.score(table, {"half": 1}, {"lys": 48}) is None
    assert amino.mg_per_g_protein(table, {"pinch": 1}, "lys") == pytest.approx(70)


def test_food_without_protein_has_no_score() -> None:
    table = cafe(bowl=[(thing("oil", 0, {"lys": 0}), 100)])
    assert amino.score(table, {"bowl": 1}, {"lys": 48}) is None
    assert amino.mg_per_g_protein(table, {"bowl": 1}, "lys") is None
    assert amino.score(table, {}, ADULT) is None


# --- the rule on the average plate


def test_the_rule_offers_every_pattern_and_every_amino_acid() -> None:
    assert set(get_args(Acid)) == set(AMINO_ACIDS)
    offered = AminoScore.model_fields["pattern"].annotation
    assert set(get_args(offered)) == set(amino.PATTERNS)


def test_rules_on_the_average_plate_want_a_plate_and_filled_columns() -> None:
    no_plate = tiny_cafe(plate={})
    for rule in (AminoScore(acids=("lys",)), PlateSalt(), PlateFibre()):
        (fault,) = rule.faults(no_plate)
        assert "no [plate]" in fault
    blank = {"amino_mg_per_g_protein": {}, "sodium_mg": None, "fibre_g": None}
    bare = tiny_cafe(
        ingredients={
            one.id: one.model_copy(update=blank) for one in tiny_cafe().ingredients.values()
        }
    )
    for rule, column in (
        (AminoScore(acids=("lys",)), "lysine_mg_per_g_protein"),
        (PlateSalt(), "sodium_mg"),
        (PlateFibre(), "fibre_g"),
    ):
        (fault,) = rule.faults(bare)
        assert column in fault and "blank for every ingredient" in fault


def test_a_breach_names_what_is_unknown_of_the_plate() -> None:
    shown = [("beet_salad", MON, (MON,)), ("lentil_salad", MON, (MON,)), ("tofu_bake", MON, (MON,))]
    tiny = tiny_cafe()
    salty = PlateSalt(most_g=0.05).check(week_plan(tiny, shown), tiny)
    assert [breach.text.endswith("unknown for Tofu") for breach in salty] == [True]
    short = PlateFibre(least_g=9).check(week_plan(tiny, shown), tiny)[0]
    assert "unknown" not in short.text


def test_a_lower_score_is_conceded_as_one_that_the_week_keeps() -> None:
    tiny = tiny_cafe()
    poor = week_plan(tiny, [("beet_salad", MON, (MON,)), ("kale_salad", MON, (MON,))])
    rule = AminoScore(acids=("lys",), score=1.2)
    (phrase, day), *_ = rule.concede(poor, tiny, rule.check(poor, tiny))
    # half of 2 g at 40 mg and half of 4 g at 60 mg: 160 mg in 3 g, 53.3 of 48 each
    assert (phrase, day) == ("an amino-acid score of 1.11, by its lysine, instead of 1.2", MON)
    assert AminoScore(acids=("lys",), score=1.11).check(poor, tiny) == []
    assert AminoScore(acids=("lys",), score=1.12).check(poor, tiny) != []
