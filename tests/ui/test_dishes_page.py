"""The dishes page: recipes and ingredients edited, what follows from them, a pasted recipe."""

from __future__ import annotations

import re
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser.costs import Costs
from optimiser.document import Document
from optimiser.document_edits import rows_of, with_rows
from optimiser.label_report import dish_label
from optimiser.report_base import money_text
from optimiser.store import Store

WAIT_S = 30


def text_of(test: AppTest) -> str:
    """All that can be read on the page, as plain text."""
    pieces = [str(one.proto.body) for one in test.get("html")]
    for kind in ("markdown", "error", "warning", "info", "caption", "subheader", "success"):
        pieces += [str(one.value) for one in test.get(kind)]
    plain = re.sub(r"<[^>]*>", " ", " ".join(pieces))
    return re.sub(r"\s+", " ", plain.replace("\\", ""))


def choose(test: AppTest, ident: str, kind: str = "dishes") -> AppTest:
    return test.selectbox(key=f"pick_{kind}.csv").set_value(ident).run(timeout=WAIT_S)


def editor_key(test: AppTest, start: str) -> str:
    """The key of the table of rows of what is chosen."""
    kind = "ingredient" if start == "offers" else "dish"
    file = "ingredients.csv" if start == "offers" else "dishes.csv"
    chosen = test.session_state["thing_edits"][file, test.selectbox(key=f"pick_{file}").value]
    return f"{start}_{kind}_{chosen.generation}"


def edit(test: AppTest, start: str, **changes: Any) -> AppTest:
    """What a person typed into a table of rows."""
    state = {"edited_rows": {}, "added_rows": [], "deleted_rows": []} | changes
    test.session_state[editor_key(test, start)] = state
    return test.run(timeout=WAIT_S)


def click(test: AppTest, key: str) -> AppTest:
    return test.button(key=key).click().run(timeout=WAIT_S)


def head(place) -> tuple[int, Document]:
    with Store.open(place) as store:
        found = store.head()
        assert found is not None
        return found.id, store.document(found.id)


def cafe_of(place):
    with Store.open(place) as store:
        return store.read().cafe


@pytest.fixture
def page(page_store, open_page) -> AppTest:
    test = open_page("dishes")
    assert not test.exception
    return test


# -- what is shown


def test_it_shows_what_costs_and_labels_say(page, page_store):
    cafe = cafe_of(page_store)
    costs = Costs(cafe, cafe.week.replace(day=27))
    for ident in cafe.dishes:
        said = text_of(choose(page, ident))
        assert not page.exception
        assert money_text(costs.portion_cents(ident), "AUD") in said
        label = dish_label(cafe, ident, keeps=cafe.dishes[ident].hold_days > 1)
        for column in ("contains", "labels_not_read", "vegan", "gluten", "nuts", "caution"):
            assert str(label[column]) in said


def test_a_label_not_read_is_said_and_nothing_is_called_free(page):
    said = text_of(choose(page, "tofu_salad"))
    assert "? any other unknown: Spinach" in said
    assert not re.search(r"free (from|of)|-free", said, re.IGNORECASE)


def test_dishes_are_found_by_name_course_colour_and_allergen(page):
    def found() -> list[str]:
        return list(page.selectbox(key="pick_dishes.csv").options)

    assert len(found()) == 5
    page.text_input(key="search_dishes.csv").set_value("quinoa").run(timeout=WAIT_S)
    assert found() == ["Cooked quinoa", "Quinoa salad"]
    page.text_input(key="search_dishes.csv").set_value("").run(timeout=WAIT_S)
    page.selectbox(key="course_filter").set_value("main").run(timeout=WAIT_S)
    assert found() == ["Roast squash", "Squash soup"]
    page.selectbox(key="course_filter").set_value("any").run(timeout=WAIT_S)
    page.selectbox(key="colour_filter").set_value("green").run(timeout=WAIT_S)
    assert found() == ["Quinoa salad"]
    page.selectbox(key="colour_filter").set_value("any").run(timeout=WAIT_S)
    page.selectbox(key="allergen_dishes.csv").set_value("contains soybeans").run(timeout=WAIT_S)
    assert found() == ["Tofu salad"]
    page.text_input(key="search_dishes.csv").set_value("zzz").run(timeout=WAIT_S)
    assert "Nothing of this kind" in text_of(page) and not page.exception


# -- a dish edited


def test_an_edited_line_shows_its_cost_before_it_is_saved(page, page_store):
    choose(page, "tofu_salad")
    before = head(page_store)[0]
    edit(page, "lines", edited_rows={0: {"qty": "5"}})  # 225 g of tofu: 200 cents, not 100
    said = text_of(page)
    assert "$2.00" in said and "$2.78 a portion" in said and "not saved yet" in said
    assert head(page_store)[0] == before
    click(page, "save_dish")
    assert not page.exception and cafe_of(page_store).dishes["tofu_salad"].lines[0].qty == 5
    assert "not saved yet" not in text_of(page)


def test_a_saved_edit_changes_only_its_cell_and_can_be_undone(page, page_store):
    choose(page, "tofu_salad")
    first, old = head(page_store)
    edit(page, "lines", edited_rows={0: {"qty": "5"}})
    click(page, "save_dish")
    new = head(page_store)[1]
    changed = [n for n, row in enumerate(old.tables["recipe_lines.csv"])
               if row != new.tables["recipe_lines.csv"][n]]  # fmt: skip
    assert changed == [4]
    assert {file for file in old.tables if old.tables[file] != new.tables[file]} == {
        "recipe_lines.csv"
    }
    click(page, "step_Undo")
    assert head(page_store) == (first, old)
    assert "$1.78 a portion" in text_of(page)


def test_an_ingredient_added_to_a_line_brings_its_allergens_at_once(page, page_store):
    choose(page, "roast")
    assert "soybeans" not in text_of(page)
    edit(page, "lines", added_rows=[{"item": "tofu", "qty": "1", "unit": "each"}])
    assert "● contains soybeans" in text_of(page)
    click(page, "save_dish")
    assert [line.item for line in cafe_of(page_store).dishes["roast"].lines] == ["squash", "tofu"]


def test_a_line_taken_out_is_gone(page, page_store):
    choose(page, "tofu_salad")
    edit(page, "lines", deleted_rows=[1])
    click(page, "save_dish")
    assert [line.item for line in cafe_of(page_store).dishes["tofu_salad"].lines] == ["tofu"]


def test_steps_are_edited_too(page, page_store):
    choose(page, "soup")
    edit(page, "steps", edited_rows={0: {"minutes": "7"}},
         added_rows=[{"step": "3", "text": "Taste.", "station": "hands_on"}])  # fmt: skip
    click(page, "save_dish")
    steps = cafe_of(page_store).dishes["soup"].steps
    assert [(step.number, step.minutes) for step in steps] == [(1, 45), (2, 7), (3, 0)]


def test_a_bad_cell_is_said_by_line_column_value_and_mend_and_nothing_is_saved(page, page_store):
    choose(page, "tofu_salad")
    before = head(page_store)
    edit(page, "lines", edited_rows={0: {"qty": "lots"}}, added_rows=[{"item": "quinoa"}])
    errors = [str(one.value).replace("\\", "") for one in page.error]
    assert (
        "Line 1, Amount: lots: not a number; write a plain number such as 2.5 "
        "(recipe_lines.csv:5)" in errors
    )
    assert any(one.startswith("Line 3, Unit: (blank): ") for one in errors)
    assert "3 in Recipe" in text_of(page)
    assert "a portion" not in text_of(page)  # nothing is worked out from half a recipe
    click(page, "save_dish")
    assert head(page_store) == before
    assert "recipe_lines.csv:5:qty: lots" in text_of(page)
    edit(page, "lines", edited_rows={0: {"qty": "5"}})
    assert "$2.78 a portion" in text_of(page) and not page.error


def test_a_bad_fact_is_said_under_its_field(page, page_store):
    choose(page, "soup")
    before = head(page_store)
    field = next(one for one in page.text_input if one.label == "Smallest cook, portions")
    field.set_value("70").run(timeout=WAIT_S)
    assert any("more than max_portions" in str(one.value).replace("\\", "") for one in page.error)
    assert "1 in Facts" in text_of(page)
    click(page, "save_dish")
    assert head(page_store) == before


def test_changes_can_be_dropped(page):
    choose(page, "tofu_salad")
    edit(page, "lines", edited_rows={0: {"qty": "5"}})
    click(page, "drop_dish")
    assert "$1.78 a portion" in text_of(page) and "not saved yet" not in text_of(page)


def test_unsaved_edits_of_two_dishes_wait_for_their_turn(page, page_store):
    choose(page, "tofu_salad")
    edit(page, "lines", edited_rows={0: {"qty": "5"}})
    choose(page, "roast")
    edit(page, "lines", edited_rows={0: {"qty": "3"}})
    choose(page, "tofu_salad")
    assert "$2.78 a portion" in text_of(page)
    assert [one for one in page.selectbox(key="pick_dishes.csv").options if "not saved" in one] == [
        "Roast squash ✎ not saved",
        "Tofu salad ✎ not saved",
    ]


def test_a_save_that_comes_too_late_says_what_changed_and_keeps_the_edit(page, page_store):
    choose(page, "tofu_salad")
    edit(page, "lines", edited_rows={0: {"qty": "5"}})
    number, document = head(page_store)
    rows = rows_of(document, "dishes.csv")
    rows[3]["name"] = "Soup of squash"
    with Store.open(page_store) as store:
        store.save(with_rows(document, "dishes.csv", rows), "Bea", "Another name", number)
    page.run(timeout=WAIT_S)
    assert "$2.78 a portion" in text_of(page)
    click(page, "save_dish")
    assert not page.exception
    cafe = cafe_of(page_store)
    assert cafe.dishes["soup"].name == "Soup of squash"
    assert cafe.dishes["tofu_salad"].lines[0].qty == 2.5
    assert "Bea" in text_of(page) and "Soup of squash" in text_of(page)
    assert "$2.78 a portion" in text_of(page)


def _both_pages() -> None:
    import streamlit as st

    from optimiser.ui import dishes_page

    if not st.session_state.get("elsewhere"):
        dishes_page.page()


def test_an_edit_survives_another_page(page_store):
    page = AppTest.from_function(_both_pages).run(timeout=WAIT_S)
    choose(page, "tofu_salad")
    edit(page, "lines", edited_rows={0: {"qty": "5"}})
    page.session_state["elsewhere"] = True
    page.run(timeout=WAIT_S)
    page.session_state["elsewhere"] = False
    page.run(timeout=WAIT_S)
    assert not page.exception and "$2.78 a portion" in text_of(page)
    edit(page, "lines", edited_rows={1: {"qty": "0.8"}})
    click(page, "save_dish")
    assert [line.qty for line in cafe_of(page_store).dishes["tofu_salad"].lines] == [5, 0.8]


# -- new, copy, take out


def test_a_new_dish_needs_a_line_and_is_then_saved(page, page_store):
    page.text_input(key="new_name_dishes.csv").set_value("Hearty <b>stew</b>").run(timeout=WAIT_S)
    page.selectbox(key="new_course").set_value("main").run(timeout=WAIT_S)
    click(page, "new_begin_dishes.csv")
    assert page.selectbox(key="pick_dishes.csv").value == "hearty_b_stew_b"
    assert "dishes.csv:7" in text_of(page)  # no recipe yet
    edit(page, "lines", added_rows=[{"item": "squash", "qty": "2", "unit": "kg"}])
    assert not page.error
    click(page, "save_dish")
    assert cafe_of(page_store).dishes["hearty_b_stew_b"].name == "Hearty <b>stew</b>"
    assert all("<b>stew" not in str(one.proto.body) for one in page.get("html"))


def test_a_copy_is_saved_as_a_dish_of_its_own(page, page_store):
    choose(page, "soup")
    click(page, "copy_begin_dishes.csv")
    assert page.selectbox(key="pick_dishes.csv").value == "squash_soup_copy"
    click(page, "save_dish")
    dishes = cafe_of(page_store).dishes
    assert dishes["squash_soup_copy"].lines == dishes["soup"].lines


def test_what_is_in_use_stays_and_says_why(page, page_store):
    before = head(page_store)
    for kind, ident, reason in (
        ("dishes", "cooked_quinoa", "Quinoa salad has it in its recipe"),
        ("dishes", "cooked_quinoa", "6 portion of it are in stock"),
        ("dishes", "soup", "the rule: "),
    ):
        choose(page, ident, kind)
        click(page, "take_out_dishes.csv")
        assert reason in text_of(page)
    assert head(page_store) == before


def test_what_nobody_needs_is_taken_out(page, page_store):
    choose(page, "roast")
    click(page, "take_out_dishes.csv")
    assert "roast" not in cafe_of(page_store).dishes and not page.exception


# -- ingredients


@pytest.fixture
def ingredients(page) -> AppTest:
    page.session_state["dishes_mode"] = "Ingredients"
    return page.run(timeout=WAIT_S)


def test_a_new_ingredient_begins_with_unknown_allergens(ingredients, page_store):
    ingredients.text_input(key="new_name_ingredients.csv").set_value("Flour").run(timeout=WAIT_S)
    click(ingredients, "new_begin_ingredients.csv")
    assert "Allergens unknown" in text_of(ingredients)
    click(ingredients, "save_ingredient")
    assert cafe_of(page_store).ingredients["flour"].allergens is None


def test_reading_a_label_is_said_and_never_assumed(ingredients, page_store):
    choose(ingredients, "spinach", "ingredients")
    radio = next(one for one in ingredients.radio if one.label == "Label")
    assert radio.value == "not read: unknown"
    radio.set_value("read, names:").run(timeout=WAIT_S)
    names = ingredients.multiselect[0]
    names.set_value(["celery", "mustard"]).run(timeout=WAIT_S)
    click(ingredients, "save_ingredient")
    assert cafe_of(page_store).ingredients["spinach"].allergens == {"celery", "mustard"}
    next(one for one in ingredients.radio if one.label == "Label").set_value(
        "read, names none"
    ).run(timeout=WAIT_S)
    click(ingredients, "save_ingredient")
    assert cafe_of(page_store).ingredients["spinach"].allergens == frozenset()


def test_prices_and_who_uses_it(ingredients, page_store):
    choose(ingredients, "tofu", "ingredients")
    assert "Tofu salad" in text_of(ingredients) and "112.5 g" in text_of(ingredients)
    edit(ingredients, "offers", added_rows=[{"supplier": "van", "pack_qty": "6",
         "pack_unit": "each", "price": "$3", "from_date": "2026-12-01"}])  # fmt: skip
    errors = " ".join(str(one.value).replace("\\", "") for one in ingredients.error)
    assert "Offer 2, Price: $3: not an amount of money" in errors
    edit(ingredients, "offers", added_rows=[{"supplier": "van", "pack_qty": "6",
         "pack_unit": "each", "price": "27.00", "from_date": "2026-12-01"}])  # fmt: skip
    click(ingredients, "save_ingredient")
    (offer,) = cafe_of(page_store).offers_of["tofu"]
    assert [price.price_cents for price in offer.prices] == [2400, 2700]


def test_an_ingredient_in_a_recipe_stays(ingredients, page_store):
    choose(ingredients, "tofu", "ingredients")
    click(ingredients, "take_out_ingredients.csv")
    assert "Tofu salad has it in its recipe" in text_of(ingredients)
    assert "tofu" in cafe_of(page_store).ingredients


# -- a pasted recipe


def paste(page: AppTest, text: str) -> None:
    page.text_area[0].set_value(text).run(timeout=WAIT_S)
    click(page, "paste_roast_read")


def test_a_pasted_recipe_is_looked_at_line_by_line_before_it_is_added(page, page_store):
    choose(page, "roast")
    paste(page, "2 blocks tofu\n300 g spinach, torn\nFor later:\n½ bunch spinach\nsome unicorn")
    said = text_of(page)
    assert "? check 2 blocks tofu" in said and "✓ read 300 g spinach, torn" in said
    assert "– left out For later:" in said and "✗ missing ½ bunch spinach" in said
    assert page.button(key="paste_roast_add").disabled
    click(page, "paste_roast_right")  # two blocks are two pieces
    assert "weight of one piece is unknown" in text_of(page)
    assert page.button(key="paste_roast_right").disabled
    click(page, "paste_roast_out")  # the bunch
    assert "not found: choose one or make a new ingredient" in text_of(page)
    click(page, "paste_roast_out")  # the unicorn
    click(page, "paste_roast_add")
    assert "● contains soybeans" in text_of(page) and "not saved yet" in text_of(page)
    click(page, "save_dish")
    lines = cafe_of(page_store).dishes["roast"].lines
    assert [(line.item, line.qty, line.unit, line.note) for line in lines] == [
        ("squash", 2.8, "kg", "skin on"),
        ("tofu", 2, "each", ""),
        ("spinach", 300, "g", "torn"),
    ]


def test_a_line_is_mended_in_its_fields(page, page_store):
    choose(page, "roast")
    paste(page, "½ bunch spinach")
    next(one for one in page.number_input if one.label == "Amount").set_value(80).run(
        timeout=WAIT_S
    )
    unit = next(one for one in page.selectbox if one.label == "Unit")
    unit.set_value("g").run(timeout=WAIT_S)
    assert page.button(key="paste_roast_add").disabled  # still to be confirmed
    click(page, "paste_roast_right")
    click(page, "paste_roast_add")
    click(page, "save_dish")
    last = cafe_of(page_store).dishes["roast"].lines[-1]
    assert (last.item, last.edible_g) == ("spinach", 80)


def test_a_new_ingredient_of_a_recipe_is_saved_with_the_dish(page, page_store):
    before = head(page_store)[0]
    choose(page, "roast")
    paste(page, "20 g cumin")
    page.text_input(key="paste_roast_new_name").set_value("Cumin").run(timeout=WAIT_S)
    click(page, "paste_roast_new_make")
    click(page, "paste_roast_add")
    assert "? any other unknown: Cumin" in text_of(page)
    assert "Nobody sells Cumin" in text_of(page)
    assert head(page_store)[0] == before
    click(page, "save_dish")
    cafe = cafe_of(page_store)
    assert cafe.ingredients["cumin"].allergens is None
    assert cafe.dishes["roast"].lines[-1].item == "cumin"
    with Store.open(page_store) as store:
        store.undo("Ada")
        assert "cumin" not in store.read().cafe.ingredients
