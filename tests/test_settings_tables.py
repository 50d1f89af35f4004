"""Settings as rows and fields of text, and back into cafe.toml."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from optimiser.document import Document, faults_of, folder_document, read_document
from optimiser.settings_tables import (
    course_rows,
    fields_of,
    kitchen_rows,
    typed,
    with_courses,
    with_fields,
    with_kitchen,
)
from tests.cafe_folder import write_folder


@pytest.fixture
def bench(tmp_path: Path) -> Document:
    return folder_document(write_folder(tmp_path / "bench"))


@pytest.mark.parametrize(
    ("text", "value"),
    [(" 5.80 ", 5.8), ("5", 5), ("5.0", 5), ("", None), ("five", "five"), ("nan", "nan"),
     ("2026-11-30", date(2026, 11, 30)), ("2026-13-30", "2026-13-30")],
)  # fmt: skip
def test_cells_become_what_toml_holds(text: str, value: object):
    assert typed(text) == value and type(typed(text)) is type(value)


def test_rows_put_back_as_they_were_change_nothing(bench: Document):
    assert with_courses(bench, course_rows(bench)) == bench
    assert with_kitchen(bench, kitchen_rows(bench)) == bench
    keys = ["name", "week", "cup_ml", "currency"]
    assert with_fields(bench, "", fields_of(bench, "", keys)) == bench


def test_courses_come_go_and_change(bench: Document):
    rows = course_rows(bench)
    assert rows[0] == {"course": "salad", "slots": "1", "price": "6.50", "take_up": "0.5",
                       "portion_g": "150", "plate": "1"}  # fmt: skip
    rows[0]["price"] = "7.25"
    rows.append({"course": "cake", "slots": "2", "price": "4", "take_up": "0.1",
                 "portion_g": "90", "plate": ""})  # fmt: skip
    cafe = read_document(with_courses(bench, rows)).cafe
    assert cafe.courses["salad"].price_cents == 725 and cafe.courses["cake"].slots == 2
    assert cafe.plate == {"main": 1, "salad": 1}
    gone = with_courses(bench, rows[:1])
    assert "main" not in (gone.settings or "").partition("[kitchen]")[0]
    faults = faults_of(gone)
    assert faults is not None and any(fault.file == "dishes.csv" for fault in faults.faults)


@pytest.mark.parametrize("name", ["Hot food", "", "a.b"])
def test_a_course_without_a_usable_name_is_told(bench: Document, name: str):
    with pytest.raises(ValueError, match="no name of a course"):
        with_courses(bench, [*course_rows(bench), {"course": name}])


def test_a_course_that_is_there_twice_is_told(bench: Document):
    with pytest.raises(ValueError, match="twice"):
        with_courses(bench, course_rows(bench) * 2)


def test_minutes_by_weekday_and_no_limit(bench: Document):
    rows = {row["station"]: row for row in kitchen_rows(bench)}
    assert rows["oven_min"]["sun"] == "120" and rows["hob_min"]["mon"] == ""
    assert rows["hands_on_min"]["tue"] == "360.5"
    rows["oven_min"] |= {"tue": "90"}
    rows["hob_min"] |= {"mon": "60", "tue": "70"}
    rows["hands_on_min"] = {"station": "hands_on_min"}
    kitchen = read_document(with_kitchen(bench, rows.values())).cafe.kitchen
    assert kitchen.oven_min is not None and kitchen.oven_min[:2] == (120, 90)
    assert kitchen.hob_min is not None and kitchen.hob_min[:2] == (60, 70)
    assert kitchen.hands_on_min is None


def test_what_is_no_number_is_a_fault_in_its_place(bench: Document):
    rows = course_rows(bench)
    rows[0]["price"] = "lots"
    faults = faults_of(with_courses(bench, rows))
    assert faults is not None
    assert str(faults.faults[0]).startswith("cafe.toml: courses.salad.price: lots:")


def test_fields_blank_and_words(bench: Document):
    changed = with_fields(bench, "money", {"waste_cost_pct": "", "appeal_cents": "150"})
    money = read_document(changed).cafe.money
    assert (money.waste_cost_pct, money.appeal_cents) == (100, 150)
    named = with_fields(bench, "", {"name": "1984", "locale": "de_AT"})
    assert (read_document(named).cafe.name, read_document(named).cafe.locale) == ("1984", "de_AT")
    assert 'name = "1984"' in (named.settings or "")
