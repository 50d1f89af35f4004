"""The larder page: numbers of the reports, counting, adding, use this up, lists handed in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser.document import Document, parse_csv
from optimiser.larder import amount_text
from optimiser.larder_count import stock_of, stock_rows
from optimiser.larder_plan import weight
from optimiser.stock_report import use_up_rows
from optimiser.store import Store
from optimiser.ui import larder_page
from optimiser.ui.larder_draft import KEY
from tests.cafe_folder import FILES

TODAY = date(2026, 11, 25)
Opens = Callable[[str], AppTest]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(larder_page, "today", lambda: TODAY)


def larder(open_page: Opens, view: str = "Shelf") -> AppTest:
    page = open_page("larder")
    assert not page.exception
    return page if view == "Shelf" else seen(page.segmented_control(key="larder_view"), view)


def seen(control: Any, option: str) -> AppTest:
    return fine(control.set_value(option))


def fine(element: Any) -> AppTest:
    """Run after setting or pressing something; nothing broke."""
    page: AppTest = element.run(timeout=30)
    assert not page.exception
    return page


def button(page: AppTest, key_start: str, count: int = 0) -> Any:
    return [one for one in page.button if str(one.key).startswith(key_start)][count]


def text_of(page: AppTest) -> str:
    """All that the page says outside its widgets."""
    body = [one.proto.body for one in page.get("html")]
    said = [one.value for kind in ("caption", "error", "warning", "header", "success")
            for one in page.get(kind)]  # fmt: skip
    return "\n".join([*body, *map(read, said)])


def read(markdown: str) -> str:
    """Escaped Markdown as it is seen."""
    return markdown.replace("\\", "")


def head(place: Path) -> Document:
    with Store.open(place) as store:
        found = store.head()
        assert found is not None
        return store.document(found.id)


def revisions(place: Path) -> list[str]:
    with Store.open(place) as store:
        return [one.message for one in store.history()]


def stock(place: Path) -> list[tuple[str, str, str]]:
    rows = stock_rows(stock_of(head(place))).values()
    return [(row["item"], row["qty"], row["unit"]) for row in rows]


def rules_of(place: Path) -> list[tuple[str, str | None]]:
    with Store.open(place) as store:
        return [(rule.kind, getattr(rule, "lot", None)) for rule in store.read().rules]


# -- the shelf


def test_the_shelf_shows_every_lot_with_its_last_day(page_store, open_page):
    text = text_of(larder(open_page))
    assert "0.5 piece" in text and "6 more days, Tue 1 Dec" in text
    assert "6 portions" in text
    assert "No plan of this week yet" in text
    assert "opened, 4 days at most from opening" in text


def test_what_is_past_its_date_stands_apart_with_the_caution_and_no_tap(
    page_store, open_page, monkeypatch
):
    monkeypatch.setattr(larder_page, "today", lambda: date(2026, 12, 2))
    page = larder(open_page)
    text = text_of(page)
    assert "Past its date" in text and "was to be used by Tue 1 Dec, 1 day ago" in text
    assert "Not to be used" in text and "food-safety code" in text
    assert button(page, "out_stock-2")
    assert not [one for one in page.button if one.key in ("use_stock-2", "use_stock-4")]
    assert "a rule wants" not in text
    fine(button(page, "out_stock-2").click())
    assert stock(page_store)[1] == ("quinoa", "2", "kg")


def test_days_far_from_a_named_week_are_counted_from_its_planning_day(
    page_store, open_page, monkeypatch
):
    monkeypatch.setattr(larder_page, "today", lambda: date(2028, 1, 1))
    text = text_of(larder(open_page))
    assert "counted from Fri 2026-11-27" in text and "Today is Sat 2028-01-01" in text
    assert "4 more lots would be past it" in text
    assert "4 more days, Tue 1 Dec" in text


def test_what_the_plan_does_with_a_lot_is_what_the_use_up_list_says(planned_store, open_page):
    page = larder(open_page)
    page.session_state["larder_fold_later"] = True
    page.session_state["larder_fold_undated"] = True
    text = text_of(fine(page))
    with Store.open(planned_store) as store:
        (kept,) = store.plans()
        cafe = store.read().cafe
    rows = use_up_rows(kept.plan, cafe)
    assert {row["finished"] for row in rows} == {"yes", "no"} and any(
        row["binned_g"] for row in rows
    )  # else this test says little
    for row in rows:
        assert isinstance(row["binned_g"], int | float) and isinstance(row["left_g"], int | float)
        lot = next(one for one in cafe.stock if one.id == row["lot"])
        head = f"<b>{row['name']}</b> <span>{amount_text(lot.qty, lot.unit)}</span>"
        (card,) = [part for part in text.split('<div class="lot">') if head in part]
        assert ("→ finished" in card) == (row["finished"] == "yes")
        assert (f"✕ {weight(row['binned_g'])} binned" in card) == (row["binned_g"] > 0)
        assert (f"{weight(row['left_g'])} left after the week" in card) == (row["left_g"] > 0)


def test_what_it_opens_leaves_and_orders_is_listed_when_asked(planned_store, open_page):
    page = larder(open_page)
    for title in ("Opened in the week", "Left when the week ends", "Deliveries to come"):
        page.session_state[f"larder_{title}"] = True
    text = text_of(fine(page))
    assert "<h3>Mon 30 Nov</h3><ul><li><b>3 × Squash</b>" in text
    assert "<h3>Mon 30 Nov, The Van</h3>" in text and "<b>Quinoa</b> 1 × 5 kg" in text
    assert "<b>Quinoa</b> 350 g, worth" in text


def test_an_empty_larder_says_what_to_do(page_store, open_page):
    old = head(page_store)
    with Store.open(page_store) as store:
        bare = replace(old, tables={**old.tables, "stock.csv": stock_of(old)[:1]})
        store.save(bare, "Ben", "Nothing", 1)
    assert "The larder is empty" in text_of(larder(open_page))
    assert "Nothing to count yet" in text_of(larder(open_page, "Count"))


# -- use this up


def test_use_this_up_is_one_tap_and_can_be_taken_back(page_store, open_page):
    page = larder(open_page)
    page = fine(button(page, "use_stock-2").click())
    assert ("use_up", "stock-2") in rules_of(page_store)
    assert revisions(page_store)[-1] == "Use up Squash (stock-2)"
    assert "to be used up this week" in text_of(page)
    page = fine(button(page, "back_stock-2").click())
    assert ("use_up", "stock-2") not in rules_of(page_store)
    assert button(page, "use_stock-2")


def test_a_plan_made_before_the_tap_says_so(planned_store, open_page):
    page = fine(button(larder(open_page), "use_stock-2").click())
    assert "before the last change of the tables; it still holds" in text_of(page)


# -- counting


def test_counting_is_kept_apart_until_one_save(page_store, open_page):
    page = larder(open_page, "Count")
    page = fine(button(page, "more_").click())  # cooked quinoa, 6 portions: 7
    page = fine(button(page, "less_", 1).click())  # opened squash, half a piece: a quarter
    assert "2 of 5 counted, 2 changed" in text_of(page)
    assert "was 6 portions" in text_of(page)
    assert revisions(page_store) == ["The bench"]
    page = fine(seen(page.segmented_control(key="larder_part"), "Stores"))
    page = fine(button(page, "same_").click())  # quinoa, as written
    page = fine(next(one for one in page.button if one.label == "Save the count").click())
    assert revisions(page_store) == ["The bench", "Counted 3 lots: 2 changed"]
    assert stock(page_store)[1] == ("squash", "0.25", "each")
    assert stock(page_store)[3] == ("cooked_quinoa", "7", "portion")
    assert "0 of 5 counted" in text_of(page) and KEY not in page.query_params


def test_a_number_can_be_typed_and_nothing_takes_the_row_out(page_store, open_page):
    page = larder(open_page, "Count")
    page = fine(page.number_input[0].set_value(2.5))
    page = fine(page.number_input[1].set_value(0.0))
    assert "none left, its row goes" in text_of(page)
    fine(next(one for one in page.button if one.label == "Save the count").click())
    assert ("cooked_quinoa", "2.5", "portion") in stock(page_store)
    assert ("squash", "0.5", "each") not in stock(page_store) and len(stock(page_store)) == 4


def test_a_count_outlives_the_page_and_the_window(page_store, open_page):
    page = fine(button(larder(open_page, "Count"), "more_").click())
    word = page.query_params[KEY]
    again = AppTest.from_string("from optimiser.ui import larder_page\nlarder_page.page()")
    again.query_params[KEY] = word
    again = seen(again.run(timeout=30).segmented_control(key="larder_view"), "Count")
    assert "1 of 5 counted, 1 changed" in text_of(again)
    assert again.number_input[0].value == 7.0
    stranger = larder(open_page, "Count")
    assert "0 of 5 counted" in text_of(stranger)


def test_a_count_goes_on_when_somebody_else_saved_stock(page_store, open_page):
    page = fine(button(larder(open_page, "Count"), "more_").click())
    old = head(page_store)
    theirs = FILES["stock"].replace("cooked_quinoa,6,", "cooked_quinoa,4,")
    with Store.open(page_store) as store:
        changed = replace(old, tables={**old.tables, "stock.csv": parse_csv(theirs)})
        store.save(changed, "Ben", "Counted too", 1)
    page = fine(page)
    assert "you counted 7 portion; meanwhile it was saved as 4 portion" in text_of(page)
    fine(next(one for one in page.button if one.label == "Save the count").click())
    assert stock(page_store)[3] == ("cooked_quinoa", "7", "portion")


def test_a_count_that_changes_nothing_is_no_revision(page_store, open_page):
    page = fine(button(larder(open_page, "Count"), "same_").click())
    page = fine(next(one for one in page.button if one.label == "Save the count").click())
    assert revisions(page_store) == ["The bench"]
    assert "✓ 1 lot counted: all as written" in text_of(page)


# -- a lot more


def test_a_lot_with_faults_is_told_below_its_fields_and_not_saved(page_store, open_page):
    page = larder(open_page, "Add")
    page = fine(page.selectbox(key="add_item").set_value("squash"))
    page = fine(page.number_input(key="add_qty").set_value(1.5))
    page = fine(next(one for one in page.button if one.label == "Put it on the shelf").click())
    told = [read(one.value) for one in page.error]
    assert len(told) == 2
    assert "1.5: not a whole number of pieces" in told[0]
    assert "write the date on the label" in told[1]
    assert revisions(page_store) == ["The bench"]
    assert page.number_input(key="add_qty").value == 1.5  # what was typed is still there


def test_a_sound_lot_is_added_and_the_form_is_fresh(page_store, open_page):
    page = larder(open_page, "Add")
    page = fine(page.selectbox(key="add_item").set_value("spinach"))
    assert page.selectbox(key="add_unit_spinach").value == "kg"
    page.number_input(key="add_qty").set_value(0.75)
    page = fine(page.date_input(key="add_use_by").set_value(date(2026, 12, 1)))
    page = fine(next(one for one in page.button if one.label == "Put it on the shelf").click())
    assert stock(page_store)[-1] == ("spinach", "0.75", "kg") and not page.error
    assert revisions(page_store)[-1] == "Added 0.75 kg of Spinach"
    assert page.selectbox(key="add_item").value is None


def test_a_cooked_dish_is_counted_in_portions(page_store, open_page):
    page = fine(larder(open_page, "Add").selectbox(key="add_item").set_value("cooked_quinoa"))
    assert page.selectbox(key="add_unit_cooked_quinoa").value == "portion"
    assert page.segmented_control(key="add_state_cooked").value == "cooked"


# -- a list from a file


def hand_in(page: AppTest, name: str, text: str) -> AppTest:
    return fine(page.file_uploader[0].set_value((name, text.encode(), "text/csv")))


def test_a_list_with_faults_is_explained_row_by_row_and_nothing_is_saved(page_store, open_page):
    bad = FILES["stock"].replace("quinoa,2,kg", "quinua,two,kg")
    page = hand_in(larder(open_page, "From a file"), "count.csv", bad)
    told = "\n".join(read(one.value) for one in page.error)
    assert "count.csv: 2 things to mend. Nothing was changed." in told
    assert (
        "stock.csv:4:item: quinua: no ingredient or dish of this id; did you mean quinoa?" in told
    )
    assert "stock.csv:4:qty: two: not a number" in told
    assert revisions(page_store) == ["The bench"]
    assert not [one for one in page.button if one.label.startswith("Save these")]


def test_a_sound_list_is_looked_at_cell_by_cell_before_it_is_saved(page_store, open_page):
    good = FILES["stock"].replace("quinoa,2,kg", "quinoa,1.5,kg")
    page = hand_in(larder(open_page, "From a file"), "count.csv", good)
    (row,) = page.table[0].value.to_dict("records")
    assert [read(cell) for cell in row.values()] == ["qty of quinoa, whole", "2", "1.5"]
    assert revisions(page_store) == ["The bench"]
    page = fine(next(one for one in page.button if one.label.startswith("Save these")).click())
    assert ("quinoa", "1.5", "kg") in stock(page_store)
    assert page.file_uploader[0].value is None


def test_the_list_that_is_there_already_changes_nothing(page_store, open_page):
    page = hand_in(larder(open_page, "From a file"), "count.csv", FILES["stock"])
    assert [read(one.value) for one in page.success] == [
        "count.csv says what the larder says already."
    ]
