"""Sheets: empty at first; every sheet equals the reports; choices; downloads; old plans."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import pytest
from openpyxl import load_workbook
from streamlit.testing.v1 import AppTest

from optimiser import reports
from optimiser.document_edits import with_cell, with_settings
from optimiser.plan import Plan
from optimiser.sheets_now import OLD
from optimiser.sheets_words import said
from optimiser.store import Store
from optimiser.tables import Reading
from optimiser.ui.sheets_page import SHEETS

Open = Callable[[str], AppTest]


def paper(test: AppTest) -> str:
    """The HTML of the sheet on the page."""
    assert not test.exception
    found = [one.body for one in test.get("html") if 'class="sheet"' in one.body]
    assert len(found) == 1
    return str(found[0])


def planned(store: Path) -> tuple[Plan, Reading]:
    with Store.open(store) as opened:
        return opened.plans()[-1].plan, opened.read()


def chosen(test: AppTest, name: str) -> AppTest:
    return test.segmented_control[0].set_value(name).run()


def test_without_a_plan_it_says_what_to_do(page_store: Path, open_page: Open):
    test = open_page("sheets")
    assert not test.exception
    assert any("Nothing to print yet" in one.body for one in test.get("html"))
    assert any(one.value == "Plan the week" for one in test.markdown)
    assert not test.get("download_button")


@pytest.mark.parametrize("name", SHEETS)
def test_each_sheet_shows_the_rows_of_its_report(name: str, planned_store: Path, open_page: Open):
    plan, reading = planned(planned_store)
    report = next(one for one in reports.REPORTS if one.name == SHEETS[name][0])
    html = paper(chosen(open_page("sheets"), name))
    rows = report.rows(plan, reading.cafe)
    columns = {"Week": "portions", "Orders": "cost", "Prep": "hands_on_min", "Recipes": "edible_g",
               "Labels": "use_by", "Use up": "left_g", "Costs": "portion_cost"}  # fmt: skip
    cells = [said(row[columns[name]], plan.currency) for row in rows]
    assert any(cells) and all(cell in html for cell in cells)


def test_a_supplier_and_a_station_can_be_chosen(planned_store: Path, open_page: Open):
    test = chosen(open_page("sheets"), "Orders")
    box = test.selectbox[0]
    assert box.label == "Supplier" and box.options[0] == "All"
    whole = paper(test)
    names = box.options[1:]
    one = paper(box.select(names[0]).run())
    assert names[0] in one and len(one) <= len(whole)
    prep = chosen(open_page("sheets"), "Prep")
    assert [box.label for box in prep.selectbox] == ["Day", "Station"]


def test_downloads_are_the_files_of_the_plan(planned_store: Path, open_page: Open):
    from optimiser.present import Present
    from optimiser.sheets_now import plan_sheets
    from optimiser.ui.sheet_files import KINDS, _file

    test = open_page("sheets")
    assert [one.proto.label for one in test.get("download_button")] == [kind[0] for kind in KINDS]
    plan, reading = planned(planned_store)
    sheets = plan_sheets(Present(plan, 1, 1, (), False), reading, reading)
    assert sheets is not None
    made = {name: _file(f"test {planned_store}", name, sheets) for _, name, _ in KINDS}
    assert made["plan.json"].decode() == plan.to_json()
    with zipfile.ZipFile(io.BytesIO(made["week_csv.zip"])) as archive:
        names = archive.namelist()
        assert (
            archive.read("order.csv").decode() == reports.csv_files(plan, reading.cafe)["order.csv"]
        )
    assert names == [f"{one.name}.csv" for one in reports.REPORTS]
    book = load_workbook(io.BytesIO(made["week.xlsx"]))
    cells = [cell for row in book["Order"].iter_rows(min_row=2) for cell in row]
    assert any(isinstance(cell.value, datetime | date) for cell in cells)
    assert any(isinstance(cell.value, float | int) for cell in cells)
    assert not any(cell.data_type == "f" for cell in cells)
    assert made["week.pdf"].startswith(b"%PDF")


def test_a_plan_of_older_tables_says_so_and_so_do_its_files(planned_store: Path, open_page: Open):
    with Store.open(planned_store) as store:
        document = with_settings(store.document(1), {"courses.salad.price": 9.5})
        store.save(document, "Ben", "Dearer salads", 1)
    test = open_page("sheets")
    assert "Out of date: this week was planned on revision 1" in paper(test)
    names = [one.proto.label for one in test.get("download_button")]
    assert names and any(OLD in one.value for one in test.caption)
    cost = paper(chosen(test, "Costs"))
    plan, _ = planned(planned_store)
    assert said(reports.cost_rows(plan, store_cafe(planned_store, 1))[0]["amount"], "AUD") in cost


def store_cafe(place: Path, revision: int):  # type: ignore[no-untyped-def]
    from optimiser.document import read_document

    with Store.open(place) as store:
        return read_document(store.document(revision)).cafe


def test_an_allergen_learned_of_since_is_on_the_labels_at_once(
    planned_store: Path, open_page: Open
):
    plan, reading = planned(planned_store)
    used = {use.item for use in plan.uses if use.item in reading.cafe.ingredients}
    with Store.open(planned_store) as store:
        document = store.document(1)
        from optimiser.document_edits import rows_of

        row = next(r for r in rows_of(document, "ingredients.csv") if r["ingredient"] in used)
        assert row.line is not None and "lupin" not in row["allergens"]
        changed = with_cell(document, "ingredients.csv", row.line, "allergens", "lupin")
        store.save(changed, "Ben", "Read a label", 1)
    html = paper(chosen(open_page("sheets"), "Labels"))
    assert "lupin" in html and "Out of date" in html


def test_a_locale_is_used_for_money_and_days(planned_store: Path, open_page: Open):
    from optimiser import formats

    with Store.open(planned_store) as store:
        document = with_settings(store.document(1), {"locale": "de_AT"})
        store.save(document, "Ben", "Formats", 1)
    try:
        html = paper(chosen(open_page("sheets"), "Orders"))
        assert "Nov. 2026" in html and "Mon 2026" not in html
    finally:
        formats.use_locale(None)
