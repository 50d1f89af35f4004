"""A dish or an ingredient edited: its rows in the tables, faults in their place."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimiser.dish_draft import (
    DISH_FILE,
    INGREDIENT_FILE,
    LINES,
    OFFERS,
    STEPS,
    Draft,
    checked,
    copied,
    draft_of,
    new_dish,
    new_id,
    new_ingredient,
    why_it_stays,
    with_draft,
    with_lines_added,
    without,
)
from optimiser.document import Document, folder_document, read_document
from tests.cafe_folder import FILES, write_folder


@pytest.fixture
def document(tmp_path: Path) -> Document:
    head, *rows = FILES["recipe_lines"].splitlines()
    own = "\n".join([f"{head},mine", *(f"{row},m{n}" for n, row in enumerate(rows, 2)), ""])
    return folder_document(write_folder(tmp_path / "cafe", recipe_lines=own))


def edited(draft: Draft, file: str, place: int, **cells: str) -> Draft:
    rows = list(draft.parts[file])
    for column, cell in cells.items():
        rows[place][column] = cell  # type: ignore[index]
    return replace(draft, parts={**draft.parts, file: tuple(rows)})


def test_a_draft_left_alone_changes_nothing(document):
    for file, ident in ((DISH_FILE, "quinoa_salad"), (INGREDIENT_FILE, "squash")):
        assert with_draft(document, draft_of(document, file, ident)) == document


def test_a_changed_cell_changes_only_its_cell(document):
    draft = edited(draft_of(document, DISH_FILE, "quinoa_salad"), LINES, 1, qty="3")
    old, new = document.tables[LINES], with_draft(document, draft).tables[LINES]
    assert [n for n, row in enumerate(old) if row != new[n]] == [3]
    assert new[3] == ("quinoa_salad", "spinach", "3", "cup", "", "yes", "washed, torn", "m4")
    assert read_document(with_draft(document, draft)).cafe.dishes["quinoa_salad"].lines[1].qty == 3


def test_new_lines_stand_with_the_dish(document):
    draft = draft_of(document, DISH_FILE, "quinoa_salad")
    line = {"item": "tofu", "qty": "1", "unit": "each", "visible": "yes", "flexible": "yes"}
    reading = read_document(with_draft(document, with_lines_added(draft, [line])))
    items = [one.item for one in reading.cafe.dishes["quinoa_salad"].lines]
    assert items == ["cooked_quinoa", "spinach", "tofu"]
    assert reading.cafe.dishes["quinoa_salad"].lines[2].flexible
    assert len(reading.cafe.dishes["tofu_salad"].lines) == 2


def test_steps_of_a_cafe_without_a_table_of_steps(tmp_path):
    bare = folder_document(write_folder(tmp_path / "bare", steps=None))
    draft = draft_of(bare, DISH_FILE, "soup")
    assert with_draft(bare, draft) == bare and STEPS not in with_draft(bare, draft).tables
    step = {"step": "1", "text": "Stir.", "minutes": "4"}
    drafted = with_draft(bare, replace(draft, parts={**draft.parts, STEPS: (step,)}))
    assert read_document(drafted).cafe.dishes["soup"].steps[0].text == "Stir."


def test_a_copy_is_a_dish_of_its_own(document):
    draft = copied(draft_of(document, DISH_FILE, "soup"), "soup_2", "Second soup")
    cafe = read_document(with_draft(document, draft)).cafe
    assert cafe.dishes["soup_2"].lines == cafe.dishes["soup"].lines
    assert cafe.dishes["soup_2"].steps == cafe.dishes["soup"].steps
    assert cafe.dishes["soup_2"].name == "Second soup" and cafe.dishes["soup"].name == "Squash soup"


def test_a_new_ingredient_has_unknown_allergens_and_no_offer(document):
    drafted = with_draft(document, new_ingredient("flour", "Flour", "dry"))
    flour = read_document(drafted).cafe.ingredients["flour"]
    assert flour.allergens is None and flour.protein_g is None


def test_a_new_dish_says_that_it_needs_a_recipe(document):
    draft = new_dish("stew", "Stew", "main", 10)
    faults = [fault for found in checked(document, draft).faults.values() for fault in found]
    assert [(fault.file, fault.value) for fault in faults] == [("dishes.csv", "stew")]
    line = {"item": "squash", "qty": "2", "unit": "kg"}
    assert checked(document, with_lines_added(draft, [line])).faults == {}


def test_faults_are_told_by_the_line_of_the_dish(document):
    draft = edited(draft_of(document, DISH_FILE, "tofu_salad"), LINES, 1, qty="lots", item="tofuu")
    draft = replace(draft, facts={**draft.facts, "portions": "0"})
    found = checked(document, draft).faults
    assert set(found) == {(LINES, 1), (DISH_FILE, 0)}
    assert {(fault.column, fault.value) for fault in found[LINES, 1]} == {
        ("item", "tofuu"),
        ("qty", "lots"),
    }
    assert found[DISH_FILE, 0][0].column == "portions"


def test_what_belongs_to_others_is_no_fault_of_the_line(document):
    draft = draft_of(document, INGREDIENT_FILE, "squash")
    draft = replace(draft, facts={**draft.facts, "form": "loose", "piece_g": ""})
    found = checked(document, draft).faults
    assert ("", 0) in found and all(fault.file == "stock.csv" for fault in found["", 0])
    assert {place for place, _ in found} <= {"", OFFERS}


def test_prices_of_an_ingredient_are_its_rows(document):
    draft = draft_of(document, INGREDIENT_FILE, "squash")
    assert [row["price"] for row in draft.parts[OFFERS]] == ["9.00", "9.40", "28.05"]
    more = {**draft.parts[OFFERS][0], "price": "9.90", "from_date": "2026-12-01"}
    draft = replace(draft, parts={OFFERS: (*draft.parts[OFFERS], more)})
    offers = read_document(with_draft(document, draft)).cafe.offers_of["squash"]
    assert [price.price_cents for price in offers[0].prices] == [900, 940, 990]


def reasons(document: Document, file: str, ident: str) -> list[str]:
    reading = read_document(document)
    return why_it_stays(document, reading.cafe, reading.rules, draft_of(document, file, ident))


def test_a_dish_in_use_says_by_whom(document):
    assert reasons(document, DISH_FILE, "cooked_quinoa") == [
        "Quinoa salad has it in its recipe",
        "6 portion of it are in stock",
    ]
    rule, sales = reasons(document, DISH_FILE, "soup")
    assert rule.startswith("the rule: ") and "Squash soup" in rule
    assert sales == "sales of 2 days are kept of it"
    assert reasons(document, INGREDIENT_FILE, "tofu") == ["Tofu salad has it in its recipe"]


def test_a_dish_that_nobody_needs_goes_with_all_its_rows(document):
    assert reasons(document, DISH_FILE, "roast") == []
    cafe = read_document(without(document, DISH_FILE, "roast")).cafe
    assert "roast" not in cafe.dishes and len(cafe.dishes) == 4


@pytest.mark.parametrize(
    ("name", "ident"),
    [("Crème of beans!", "creme_of_beans"), ("Soup", "soup_2"), ("饭", "new"), ("", "new"),
     ("x" * 100, "x" * 60)],
)  # fmt: skip
def test_ids_are_made_of_names(name, ident):
    assert new_id(name, {"soup"}) == ident
