"""Every figure of the sample cafe that names a source is that source's figure.

Read from the CSV as text and compared with USDA SR28 and USDA FoodKeeper (both
public domain, in tests/data). SR28's household weights are for the US cup.
Vegetable groups: Table H-1 (National Academies, record 12959, p. 236).
"""

from __future__ import annotations

import csv
import re
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "sample_data"
HOUSEHOLD_ML = {"cup_g": 236.588236, "tbsp_g": 14.7867648, "tsp_g": 4.92892159}
DAYS = {"Days": 1, "Weeks": 7, "Months": 31, "Years": 366}
AMINO_OF_SR28 = {
    "his": ("his_g",),
    "ile": ("ile_g",),
    "leu": ("leu_g",),
    "saa": ("met_g", "cys_g"),
    "aaa": ("phe_g", "tyr_g"),
    "thr": ("thr_g",),
    "trp": ("trp_g",),
    "val": ("val_g",),
}
NAMED_IN_TABLE_H1 = {
    "broccoli": "dark_green",
    "kale": "dark_green",
    "spinach": "dark_green",
    "butternut": "orange",
    "carrot": "orange",
    "pumpkin": "orange",
    "sweet_potato": "orange",
    "tofu": "pulses",
    "beetroot": "other",
    "cabbage": "other",
    "capsicum_red": "other",
    "tomato": "other",
}
"""Foods by name, ours for beet and red pepper; of `pulses` the class is named, with tofu."""
Row = dict[str, str]


def rows(path: Path) -> list[Row]:
    with path.open(encoding="utf-8-sig", newline="") as table:
        return list(csv.DictReader(table))


@cache
def sr28() -> dict[str, Row]:
    return {row["ndb_no"]: row for row in rows(ROOT / "tests/data/usda_sr28_plant_foods.csv")}


@cache
def foodkeeper() -> dict[str, Row]:
    table = rows(ROOT / "tests/data/usda_foodkeeper_v128.csv")
    return {row["foodkeeper_id"]: row for row in table}


def sourced(source: str) -> list[tuple[Row, re.Match[str]]]:
    """Ingredient rows whose source column matches a pattern."""
    found = ((row, re.search(source, row["source"])) for row in rows(SAMPLE / "ingredients.csv"))
    return [(row, match) for row, match in found if match]


def from_sr28() -> list[tuple[Row, Row, str]]:
    """(ingredient row, SR28 row, columns that its source takes from it)."""
    found = sourced(r"SR28 (\d{5})([^;]*)")
    return [(row, sr28()[match[1]], match[2]) for row, match in found]


def test_most_ingredients_name_a_source_and_every_row_says_where_it_is_from() -> None:
    assert len(from_sr28()) >= 80
    assert [
        row["ingredient"] for row in rows(SAMPLE / "ingredients.csv") if not row["source"]
    ] == []


def test_protein_of_an_sr28_ingredient_is_the_tables() -> None:
    wrong = [
        f"{row['ingredient']}: {row['protein_g']}, SR28 {table['protein_g']}"
        for row, table, _ in from_sr28()
        if float(row["protein_g"]) != float(table["protein_g"])
    ]
    assert wrong == []


def test_lysine_of_an_sr28_ingredient_is_the_tables_and_blank_where_it_has_none() -> None:
    wrong = []
    for row, table, _ in from_sr28():
        protein, lysine = float(table["protein_g"]), table["lys_g"]
        expected = 1000 * float(lysine) / protein if lysine and protein else None
        stated = row["lysine_mg_per_g_protein"]
        if (expected is None) != (not stated) or (
            expected is not None and abs(float(stated) - expected) > 0.5
        ):
            wrong.append(f"{row['ingredient']}: {stated or 'blank'}, SR28 {expected}")
    assert wrong == []


def sr28_amino(table: Row, amino: str) -> float | None:
    """Milligrams per gram of protein; None if the table misses one of its parts."""
    parts, protein = [table[column] for column in AMINO_OF_SR28[amino]], float(table["protein_g"])
    if protein == 0 or not all(parts):
        return None
    return 1000 * sum(map(float, parts)) / protein


def test_amino_acids_of_an_ingredient_are_the_tables_and_blank_where_it_has_none() -> None:
    wrong, seen = [], 0
    for row, table, columns in from_sr28():
        for amino in AMINO_OF_SR28:
            expected, stated = sr28_amino(table, amino), row[f"{amino}_mg_per_g_protein"]
            seen += expected is not None
            if (expected is None) != (not stated) or (
                expected is not None
                and (abs(float(stated) - expected) > 0.051 or "amino" not in columns)
            ):
                wrong.append(f"{row['ingredient']} {amino}: {stated or 'blank'}, SR28 {expected}")
    assert seen >= 700 and wrong == []


def test_an_amino_acid_that_the_table_gives_in_part_stays_blank() -> None:
    # lime: SR28 has tryptophan, lysine and methionine alone, so no cystine to add
    lime = next(row for row, _, _ in from_sr28() if row["ingredient"] == "lime")
    known = {amino for amino in AMINO_OF_SR28 if lime[f"{amino}_mg_per_g_protein"]}
    assert known == {"trp"} and lime["lysine_mg_per_g_protein"]


def test_sodium_and_fibre_of_an_sr28_ingredient_are_the_tables_and_blank_where_it_has_none() -> (
    None
):
    wrong = []
    for row, table, columns in from_sr28():
        for column, word in (("sodium_mg", "sodium"), ("fibre_g", "fibre")):
            stated, expected = row[column], table[column]
            same = stated == expected or (stated and expected and float(stated) == float(expected))
            if not same or (word in columns) != bool(stated):
                wrong.append(f"{row['ingredient']} {column}: {stated or 'blank'}, SR28 {expected}")
    assert wrong == []


def test_salt_is_as_much_sodium_as_its_chemistry_says() -> None:
    salt = next(row for row in rows(SAMPLE / "ingredients.csv") if row["ingredient"] == "salt")
    sodium_share = 22.99 / (22.99 + 35.45)  # atomic masses of sodium and chlorine
    assert abs(float(salt["sodium_mg"]) / 100_000 / sodium_share - 1) < 0.02  # table salt, not pure


def test_without_an_sr28_row_amino_acids_sodium_and_fibre_are_unknown() -> None:
    columns = [f"{amino}_mg_per_g_protein" for amino in AMINO_OF_SR28] + ["sodium_mg", "fibre_g"]
    others = [row for row in rows(SAMPLE / "ingredients.csv") if "SR28" not in row["source"]]
    filled = [f"{row['ingredient']} {one}" for row in others for one in columns if row[one]]
    assert len(others) >= 30 and filled == []


def test_a_tin_with_the_sodium_of_a_pulse_boiled_without_salt_is_packed_without_salt() -> None:
    tins = [
        row["ingredient"]
        for row, table, _ in from_sr28()
        if row["form"] == "whole" and "without salt" in table["description"]
        if "packed without salt" not in row["source"] and float(table["sodium_mg"]) < 10
    ]
    assert tins == []


def test_a_vegetable_group_is_table_h1s_or_says_that_it_is_remembered() -> None:
    grouped = [row for row in rows(SAMPLE / "ingredients.csv") if row["veg_group"]]
    unnamed = []
    for row in grouped:
        is_pulse = row["group"] == "pulse" or row["ingredient"] == "tempeh"
        named = {
            group for food, group in NAMED_IN_TABLE_H1.items() if food in row["ingredient"]
        } | ({"pulses"} if is_pulse else set())
        if row["ingredient"] == "passata":  # sieved tomatoes
            named = {"other"}
        remembered = "veg_group from memory" in row["source"]
        cited = "12959 Table H-1 p. 236 veg_group" in row["source"]
        if remembered == cited or (named != {row["veg_group"]} if cited else bool(named)):
            unnamed.append(f"{row['ingredient']}: {row['veg_group']}")
    assert len(grouped) >= 30 and unnamed == []
    assert {row["veg_group"] for row in grouped if "memory" in row["source"]} == {"starchy"}


def test_room_in_the_fridge_is_marked_as_invented() -> None:
    kept = [row for row in rows(SAMPLE / "ingredients.csv") if row["fridge_l_per_kg"]]
    wrong = [
        row["ingredient"]
        for row in kept
        if not re.search(r"all else$|(^|; )invented(;|$)", row["source"])
    ]
    assert len(kept) >= 40 and wrong == []


def test_whatever_outlives_foodkeepers_pantry_takes_room_in_the_fridge() -> None:
    warm = []
    for row, match in sourced(r"FoodKeeper (\d+) upper limit of keeps_days"):
        life = foodkeeper()[match[1]]
        in_pantry = longest_days(life | {"refrigerate": "", "freeze": ""})
        if row["form"] != "dry" and int(row["keeps_days"]) > in_pantry:
            warm.append(row)
    assert len(warm) >= 30
    assert [row["ingredient"] for row in warm if not row["fridge_l_per_kg"]] == []


def test_yield_of_an_sr28_ingredient_is_100_less_refuse_unless_its_source_says_otherwise() -> None:
    wrong = [
        f"{row['ingredient']}: {row['yield_pct']}, SR28 refuse {table['refuse_pct']}"
        for row, table, _ in from_sr28()
        if "invented yield" not in row["source"]
        and float(row["yield_pct"]) != 100 - float(table["refuse_pct"])
    ]
    assert wrong == []


def densities(table: Row) -> list[float]:
    """Grams per millilitre by each household measure that the table weighs."""
    return [float(table[column]) / ml for column, ml in HOUSEHOLD_ML.items() if table[column]]


def test_density_taken_from_sr28_is_a_household_weight_of_the_table() -> None:
    taken = [(row, table) for row, table, columns in from_sr28() if "g_per_ml" in columns]
    wrong = [
        f"{row['ingredient']}: {row['g_per_ml']}, SR28 {densities(table)}"
        for row, table in taken
        if not any(abs(float(row["g_per_ml"]) / one - 1) <= 0.03 for one in densities(table))
    ]
    assert len(taken) >= 60 and wrong == []


def test_density_is_taken_from_sr28_where_the_table_weighs_a_cup() -> None:
    ignored = [
        row["ingredient"]
        for row, table, columns in from_sr28()
        if table["cup_g"] and "g_per_ml" not in columns and "invented" not in row["source"]
    ]
    assert ignored == []


def test_piece_weight_taken_from_sr28_is_the_tables_bought_for_heads_and_edible_for_the_rest() -> (
    None
):
    wrong, seen = [], 0
    for row, table, columns in from_sr28():
        plain = re.search(r"piece(?! \()", columns)
        per_yield = re.search(r"piece \(.*edible / yield\)", columns)
        if not plain and not per_yield:
            continue  # its source says what else the piece is
        seen += 1
        weight = float(table["piece_g"] or table["clove_g"])
        expected = weight / (float(row["yield_pct"]) / 100 if per_yield else 1)
        if abs(float(row["piece_g"]) / expected - 1) > 0.03:
            wrong.append(f"{row['ingredient']}: {row['piece_g']}, SR28 {expected}")
    assert seen >= 20 and wrong == []


def longest_days(life: Row) -> float:
    """The longest life that FoodKeeper gives an unopened product, in days."""
    columns = (life["pantry"], life["refrigerate"], life["freeze"])
    if "Indefinitely" in columns:
        return float("inf")
    spans = [re.fullmatch(r"\d+-(\d+) (\w+)", text) for text in columns]
    return max((int(span[1]) * DAYS[span[2]] for span in spans if span), default=0)


def test_no_life_exceeds_the_foodkeeper_limit_that_its_source_names() -> None:
    found = sourced(r"FoodKeeper (\d+) upper limit of keeps_days")
    wrong = [
        f"{row['ingredient']}: {row['keeps_days']}"
        for row, match in found
        if int(row["keeps_days"]) > longest_days(foodkeeper()[match[1]])
    ]
    assert len(found) >= 60 and wrong == []


def test_an_opened_thing_lives_no_longer_than_foodkeeper_says() -> None:
    wrong = []
    for row, match in sourced(r"FoodKeeper (\d+)"):
        limit = re.fullmatch(
            r"\d+-(\d+) (\w+)", foodkeeper()[match[1]]["refrigerate_after_opening"]
        )
        if row["opened_keeps_days"] and limit:
            if int(row["opened_keeps_days"]) > int(limit[1]) * DAYS[limit[2]]:
                wrong.append(row["ingredient"])
    assert wrong == []
