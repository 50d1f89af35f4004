"""Every figure of the sample cafe that names a source is that source's figure.

Read from the CSV as text and compared with USDA SR28 and USDA FoodKeeper (both
public domain, in tests/data). SR28's household weights are for the US cup.
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
    return max(int(span[1]) * DAYS[span[2]] for span in spans if span)


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
