"""What follows from a recipe, worked out by hand for the test bench and the small cafe."""

from __future__ import annotations

from datetime import date

import pytest

from optimiser import amino, nutrition
from optimiser.cafe import Form
from optimiser.costs import Costs
from optimiser.dish_facts import (
    CONTAINS,
    MAY_CONTAIN,
    NOT_READ,
    PATTERN,
    allergen_rows,
    cost_words,
    diet_rows,
    dish_cost,
    label_lines,
    nutrient_rows,
)
from optimiser.tables import read_folder
from tests.cafe_folder import write_folder
from tests.small_cafe import ingredient, small_cafe

DAY = date(2026, 11, 27)


@pytest.fixture
def bench(tmp_path):
    return read_folder(write_folder(tmp_path / "cafe")).cafe


def goods(**labels):
    """The small cafe's carrot and quinoa with other facts."""
    base = small_cafe()
    changed = {
        item: ingredient(item, Form.LOOSE if item == "carrot" else Form.DRY, keeps_days=9, **facts)
        for item, facts in labels.items()
    }
    return small_cafe(ingredients={**base.ingredients, **changed})


def test_cost_of_each_line_and_of_the_portion(bench):
    # Tofu: 2.5 x 450 g = 112.5 g a portion at 24.00 for 6 x 450 g: 100 cents.
    # Spinach: 40 g edible of 72 % = 55.6 g at 14.00 a kilo: 77.78 cents.
    cost = dish_cost(bench, "tofu_salad", DAY)
    assert cost.lines == (
        {"item": "Tofu", "grams": 112.5, "cents": 100.0},
        {"item": "Spinach", "grams": 55.6, "cents": 77.78},
    )
    assert cost.portion_cents == pytest.approx(177.78, abs=0.01)
    assert cost.food_cost_pct == pytest.approx(100 * 177.78 / 650, abs=0.01)
    assert cost_words(cost, "AUD") == "$1.78 a portion"


def test_cost_of_every_dish_is_the_sum_of_its_lines(bench):
    for dish in bench.dishes:
        cost = dish_cost(bench, dish, DAY)
        total = sum(float(row["cents"]) for row in cost.lines)
        assert total == pytest.approx(Costs(bench, DAY).portion_cents(dish), abs=0.05)


def test_what_nobody_sells_has_no_price_and_the_total_is_a_least(bench):
    offers = tuple(one for one in bench.offers if one.ingredient != "quinoa")
    cafe = bench.model_copy(update={"offers": offers})
    cost = dish_cost(cafe, "quinoa_salad", DAY)
    assert cost.unpriced == ("Quinoa",) and cost.food_cost_pct is None
    assert [row["cents"] is None for row in cost.lines] == [True, False]
    assert cost_words(cost, "AUD").startswith("at least $")


def test_protein_names_its_unknown_parts():
    cafe = goods(carrot={"protein_g": 1.0}, quinoa={})
    protein = nutrient_rows(cafe, "salad")[0]
    # 100 g of carrot in a portion, at 1 g in 100 g
    assert protein["portion"] == "at least 1 g, rest unknown"
    assert protein["unknown"] == "quinoa"


def test_protein_amino_fibre_and_salt_of_a_dish_that_is_known():
    acids = dict.fromkeys(amino.AMINO_ACIDS, 60.0) | {"lys": 36.0}
    known = {"protein_g": 10.0, "fibre_g": 2.0, "sodium_mg": 400.0}
    facts = known | {"amino_mg_per_g_protein": acids}
    cafe = goods(carrot=facts, quinoa=facts)
    grams = sum(nutrition.edible_parts(cafe, "salad").values())
    rows = {str(row["what"]): row for row in nutrient_rows(cafe, "salad")}
    assert rows["Protein"]["portion"] == f"{round(grams / 10, 1):g} g"
    assert rows["Fibre"]["portion"] == f"{round(grams * 0.02, 1):g} g"
    assert rows["Salt"]["portion"] == f"{round(grams * 0.004 * 2.5, 2):g} g"
    (score,) = [row for name, row in rows.items() if name.startswith("Amino")]
    # 36 mg of lysine in a gram of protein, where the pattern asks for 48
    assert amino.PATTERNS[PATTERN]["lys"] == 48
    assert score["portion"] == "0.75, least of lysine" and score["unknown"] == ""


def test_an_amino_acid_that_nobody_knows_leaves_the_score_unknown():
    cafe = goods(carrot={"protein_g": 10.0}, quinoa={"protein_g": 10.0})
    (score,) = [row for row in nutrient_rows(cafe, "salad") if "Amino" in str(row["what"])]
    assert (score["portion"], score["unknown"]) == ("unknown", "carrot; quinoa")


def test_labels_that_are_read_say_what_is_in_it():
    cafe = goods(
        carrot={"allergens": frozenset({"sesame"})}, quinoa={"allergens": frozenset({"gluten"})}
    )
    assert allergen_rows(cafe, "salad") == [
        {"state": CONTAINS, "allergen": "gluten", "from": "quinoa"},
        {"state": CONTAINS, "allergen": "sesame", "from": "carrot"},
        {
            "state": MAY_CONTAIN,
            "allergen": "barley; khorasan; oats; rye; spelt; wheat",
            "from": "quinoa",
        },
    ]


def test_a_label_not_read_is_unknown_whatever_the_others_say():
    cafe = goods(carrot={"allergens": frozenset({"sesame"})}, quinoa={})
    assert allergen_rows(cafe, "salad")[-1] == {
        "state": NOT_READ,
        "allergen": "any other",
        "from": "quinoa",
    }
    said = " ".join(str(row["says"]) for row in diet_rows(cafe, "salad"))
    assert said == "unknown unknown unknown"


def test_a_name_on_no_list_leaves_the_rest_unknown():
    cafe = goods(carrot={"allergens": frozenset({"soybeans"})}, quinoa={"allergens": frozenset()})
    assert allergen_rows(cafe, "salad")[-1]["from"] == "soybeans is on no list"


def test_the_page_says_of_each_allergen_what_the_rules_count_by():
    for read in ({"gluten"}, {"wheat", "gluten"}, {"wheat"}, {"strange"}, set()):
        cafe = goods(carrot={"allergens": frozenset(read)}, quinoa={"allergens": frozenset()})
        rows = allergen_rows(cafe, "salad")
        label = nutrition.allergens(cafe, "salad")
        for name in sorted(nutrition.KNOWN_ALLERGENS["eu"]):
            said = {row["state"] for row in rows if name in str(row["allergen"]).split("; ")}
            any_other = any(row["state"] == NOT_READ for row in rows)
            answer = label.free_of(name)
            assert (answer == "yes") == (not said and not any_other and answer != "no")
            if CONTAINS in said:
                assert answer == "no"


def test_the_label_prints_what_the_report_of_labels_would():
    cafe = goods(carrot={"allergens": frozenset({"sesame"})}, quinoa={})
    lines = {row["line"]: row["says"] for row in label_lines(cafe, "salad")}
    assert lines["contains"] == "sesame (carrot); unknown for quinoa"
    assert lines["labels not read"] == "quinoa"
    assert lines["caution"].startswith("Allergens unknown: ")
    assert "free" not in " ".join(str(text) for text in lines.values())
