"""Protein and amino acids against published tables.

Sources
- USDA SR28: the USDA National Nutrient Database for Standard Reference, Release 28
  (public domain), `tests/data/usda_sr28_plant_foods.csv`, per 100 g edible.
- Scoring patterns, mg per g protein: FAO 2013 (Food and Nutrition Paper 92, Table 5),
  over 3 years; WHO/FAO/UNU 2007 (TRS 935), adult, from a secondary source.
- Scores computed from both, without digestibility. Raw white rice 50 g with raw lentils
  50 g: 15.88 g of protein, lysine 62.3 mg/g, sulphur amino acids 26.6, score 1.158.
- A textbook's worked example: whole-wheat flour, lysine 2.6 of 5.8, 45 %.
SR28 is followed throughout: other tables name another limiting amino acid for some foods.
Scores of single foods stand in `tests/test_amino.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from optimiser import amino, nutrition
from optimiser.cafe import Cafe
from optimiser.tables import read_folder
from tests.outside.bench import (
    Planned,
    dish,
    highest_held,
    line,
    pantry,
    planned,
    sr28,
    write_cafe,
)

FAO, WHO, TABLE = "SR28 and FAO 2013", "TRS 935, secondary source", "USDA SR28"
LYSINE_OF = {"fao_2013_adult": 48, "who_2007_adult": 45}
QUINOA, RICE, WHEAT, LENTIL = "20035", "20444", "20080", "16069"
CHICKPEA, OLIVE_OIL = "16056", "04053"
ACIDS = {
    **{acid: (f"{acid}_g",) for acid in ("his", "ile", "leu", "lys", "thr", "trp", "val")},
    "saa": ("met_g", "cys_g"),
    "aaa": ("phe_g", "tyr_g"),
}


def food(ndb: str) -> dict[str, Any]:
    """A row of ingredients.csv from the table; amino acids blank without protein."""
    row = sr28()[ndb]
    protein = float(row["protein_g"])
    cells = {"ingredient": f"ndb_{ndb}", "name": row["description"][:60], "form": "dry",
             "protein_g": row["protein_g"], "allergens": "none"}  # fmt: skip
    if protein:
        for acid, columns in ACIDS.items():
            mg = 1000 * sum(float(row[column]) for column in columns) / protein
            name = "lysine" if acid == "lys" else acid
            cells[f"{name}_mg_per_g_protein"] = f"{mg:.4f}"
    return cells


Bowl = dict[str, float]
"""NDB number -> raw grams in a portion."""


def bowls(path: Path, *recipes: Bowl) -> Path:
    """A cafe with one dish per recipe, all on one plate."""
    dishes = [dish(f"bowl_{n}", portions=1) for n in range(len(recipes))]
    lines = [
        line(f"bowl_{n}", f"ndb_{ndb}", grams)
        for n, recipe in enumerate(recipes)
        for ndb, grams in recipe.items()
    ]
    foods = [food(ndb) for ndb in dict.fromkeys(ndb for recipe in recipes for ndb in recipe)]
    plate = f"[plate]\nplate = {len(recipes)}\n"
    return write_cafe(path, foods, dishes, lines, rules=plate)


def bowl(path: Path, **grams: float) -> Cafe:
    """One recipe; keys are `n` and an NDB number."""
    return read_folder(bowls(path, {ndb[1:]: mass for ndb, mass in grams.items()})).cafe


def rungs(middle: float, step: float) -> list[float]:
    """Ten steps down and ten up."""
    return [round(middle + n * step, 6) for n in range(-10, 11)]


def climbed(path: Path, recipes: Sequence[Bowl], rule: dict[str, Any], asked: list[float],
            field: str) -> tuple[Planned, float]:  # fmt: skip
    """A planned day, and the most of `asked` that its dishes reach by the rule."""
    ladder = [{**rule, field: one, "price_cents": 0.01} for one in asked]
    week = planned(bowls(path, *recipes), rules=ladder)
    return week, highest_held(week, asked)


MIXED = [{RICE: 50, LENTIL: 50}]
APART = [{RICE: 50}, {LENTIL: 50}]
SCORES = {
    "white rice: score on a plate": ([{RICE: 60}], 0.754),
    "quinoa: score, not quite complete": ([{QUINOA: 60}], 0.975),
    "rice with lentils: score": (MIXED, 1.158),
    "rice beside lentils: score of a plate": (APART, 1.158),
}


@pytest.mark.parametrize("figure", SCORES)
def test_the_rule_on_amino_acids_gives_the_published_score(tmp_path, main_job, figure):
    recipes, theirs = SCORES[figure]
    rule = {"kind": "amino_score", "pattern": "fao_2013_adult"}
    week, ours = climbed(tmp_path, recipes, rule, rungs(theirs, 0.001), "score")
    main_job(week.plan, "amino acids", FAO, figure, theirs, ours, within=0.001)


COMPLEMENT = {
    "rice with lentils: lysine, mg/g": ("lys", 48, 62.3),
    "rice with lentils: sulphur AA, mg/g": ("saa", 23, 26.6),
}


@pytest.mark.parametrize("figure", COMPLEMENT)
def test_the_rule_on_one_amino_acid_gives_its_milligrams(tmp_path, main_job, figure):
    acid, pattern, theirs = COMPLEMENT[figure]
    rule = {"kind": "amino_score", "pattern": "fao_2013_adult", "acids": [acid]}
    asked = rungs(round(theirs / pattern, 3), 0.0005)
    week, score = climbed(tmp_path, MIXED, rule, asked, "score")
    main_job(week.plan, "amino acids", TABLE, figure, theirs, score * pattern, within=0.1)


def test_rice_reaches_more_of_the_older_pattern(tmp_path, main_job):
    """45 mg of lysine instead of 48: the same rice scores .754 x 48 / 45."""
    rule = {"kind": "amino_score", "pattern": "who_2007_adult"}
    week, ours = climbed(tmp_path, [{RICE: 60}], rule, rungs(0.804, 0.001), "score")
    figure = "white rice: score by the 2007 pattern"
    main_job(week.plan, "amino acids", WHO, figure, 0.754 * 48 / 45, ours, within=0.0015)


def test_protein_of_rice_with_lentils_by_the_rule(tmp_path, main_job):
    rule = {"kind": "protein_dishes"}
    week, ours = climbed(tmp_path, MIXED, rule, rungs(15.88, 0.01), "protein_g")
    main_job(week.plan, "protein", TABLE, "rice with lentils, g", 15.88, ours, within=0.011)


def test_protein_of_rice_with_lentils_in_the_week_table(tmp_path, main_job):
    week = planned(bowls(tmp_path, *MIXED))
    ours = week.row("week", dish="bowl_0")["protein_g"]
    figure = "the same, in the table of the week, g"
    main_job(week.plan, "protein", TABLE, figure, 15.88, ours, within=0.05)


PROTEIN = {
    "tofu_firm": "16426",
    "chickpeas_dry": "16056",
    "red_lentils": "16069",
    "quinoa": "20035",
    "almonds": "12061",
    "peanuts": "16087",
    "broccoli": "11090",
    "butternut": "11485",
}
"""Foods of the sample by their NDB number."""


@pytest.fixture(scope="module")
def protein_week(tmp_path_factory) -> Planned:
    """100 g, prepared, of each of these foods of the sample a portion."""
    dishes = [dish(f"of_{name}") for name in PROTEIN]
    lines = [line(f"of_{name}", name, 1000) for name in PROTEIN]
    folder = tmp_path_factory.mktemp("protein")
    return planned(write_cafe(folder, pantry(*PROTEIN), dishes, lines))


@pytest.mark.parametrize("name", PROTEIN)
def test_protein_of_a_sample_food_in_the_week_table(protein_week, main_job, name):
    ours = protein_week.row("week", dish=f"of_{name}")["protein_g"]
    theirs = float(sr28()[PROTEIN[name]]["protein_g"])
    figure = f"100 g of {name.replace('_', ' ')}, g"
    main_job(protein_week.plan, "protein", TABLE, figure, theirs, ours, within=0.051)


def lysine(path: Path, **grams: float) -> float:
    found = amino.mg_per_g_protein(bowl(path, **grams), {"bowl_0": 1}, "lys")
    assert found is not None
    return found


def test_whole_wheat_flour_as_a_textbook_scores_it(tmp_path, outside):
    """2.6 g of lysine in 100 g of protein; SR28's flour has 2.7, and is followed here."""
    ours = 100 * lysine(tmp_path, n20080=100) / 58
    figure = "whole-wheat flour, lysine of 5.8, %"
    outside("amino acids", "textbook example", figure, 45, ours, within=2.5)


@pytest.mark.parametrize(("pattern", "mg"), LYSINE_OF.items())
@pytest.mark.parametrize("ndb", [QUINOA, CHICKPEA, LENTIL])
def test_quinoa_and_pulses_reach_the_lysine_of_both_patterns(tmp_path, pattern, mg, ndb):
    assert amino.PATTERNS[pattern]["lys"] == mg < lysine(tmp_path, **{f"n{ndb}": 80})


def test_rice_alone_reaches_the_lysine_of_neither(tmp_path):
    assert lysine(tmp_path, **{f"n{RICE}": 50}) < min(LYSINE_OF.values())


def test_oil_adds_neither_protein_nor_doubt_about_lysine(tmp_path):
    # SR28 gives olive oil 0 g protein, so it has no lysine per gram of protein
    plain, dressed = {f"n{LENTIL}": 60.0}, {f"n{LENTIL}": 60.0, f"n{OLIVE_OIL}": 20.0}
    assert lysine(tmp_path, **dressed) == pytest.approx(lysine(tmp_path, **plain))
    protein = nutrition.protein_g(bowl(tmp_path, **dressed), "bowl_0")
    assert protein == pytest.approx(0.6 * 24.63)


def test_a_mixture_lies_between_its_parts_and_moves_with_its_protein(tmp_path):
    shares = [lysine(tmp_path, **{f"n{RICE}": 100 - n, f"n{LENTIL}": n}) for n in range(5, 100, 10)]
    assert shares == sorted(shares)
    assert lysine(tmp_path, **{f"n{RICE}": 1}) < shares[0]
    assert shares[-1] < lysine(tmp_path, **{f"n{LENTIL}": 1})
