"""Two edits of the same tables: put together cell by cell, clashes named."""

from __future__ import annotations

from datetime import date

import pytest

from optimiser.document import Document, folder_document, read_document
from optimiser.document_edits import (
    add_row,
    rows_of,
    with_cell,
    with_rules,
    with_settings,
    without_row,
)
from optimiser.document_merge import merge
from optimiser.rules.pins import Bar, Pin
from tests.cafe_folder import write_folder

DAY = date(2026, 11, 30)
LOT = {"item": "tofu", "qty": "2", "unit": "each", "use_by": "2026-12-09", "state": "whole"}


@pytest.fixture
def base(tmp_path) -> Document:
    return folder_document(write_folder(tmp_path / "cafe"))


def rules(document, *more):
    return with_rules(document, [*read_document(document).rules, *more])


def test_edits_of_different_cells_rows_and_files_come_together(base):
    mine = add_row(with_cell(base, "stock.csv", 2, "qty", "5"), "stock.csv", LOT)
    theirs = with_cell(base, "stock.csv", 4, "qty", "9")
    theirs = with_cell(theirs, "offers.csv", 5, "price", "25.00")
    merged = merge(base, mine, theirs)
    assert merged.clashes == ()
    found = [(row["item"], row["qty"]) for row in rows_of(merged.document, "stock.csv")]
    assert found == [("squash", "5"), ("squash", "0.5"), ("quinoa", "9"), ("cooked_quinoa", "6"),
                     ("squash", "7.4"), ("tofu", "2")]  # fmt: skip
    assert rows_of(merged.document, "offers.csv")[3]["price"] == "25.00"
    read_document(merged.document)


def test_one_row_with_a_cell_from_each(base):
    mine = with_cell(base, "dishes.csv", 4, "appeal", "1.3")
    theirs = with_cell(base, "dishes.csv", 4, "hold_days", "2")
    row = rows_of(merge(base, mine, theirs).document, "dishes.csv")[2]
    assert (row["appeal"], row["hold_days"]) == ("1.3", "2")


def test_the_same_cell_changed_twice_is_a_clash_and_stays_theirs(base):
    mine = with_cell(base, "stock.csv", 2, "qty", "5")
    theirs = with_cell(base, "stock.csv", 2, "qty", "7")
    merged = merge(base, mine, theirs)
    assert merged.clashes == ("stock.csv: qty of squash, whole, 2026-12-20",)
    assert merged.document == theirs
    assert merge(base, theirs, theirs) == merge(base, base, theirs)


@pytest.mark.parametrize("mine_goes", [True, False])
def test_a_row_gone_here_and_changed_there_is_a_clash(base, mine_goes):
    gone = without_row(base, "stock.csv", 4)
    changed = with_cell(base, "stock.csv", 4, "qty", "9")
    mine, theirs = (gone, changed) if mine_goes else (changed, gone)
    merged = merge(base, mine, theirs)
    assert merged.clashes == ("stock.csv: quinoa, whole",) and merged.document == theirs
    alone = merge(base, gone, with_cell(base, "stock.csv", 2, "qty", "5"))
    assert alone.clashes == () and len(rows_of(alone.document, "stock.csv")) == 4


def test_rules_and_settings_of_both_count_and_comments_stay(base):
    mine = with_settings(rules(base, Pin(dish="roast", day=DAY)), {"plan_ahead_days": 2})
    theirs = rules(Document("# ours\n" + (base.settings or ""), base.tables), Bar(dish="roast"))
    theirs = with_settings(theirs, {"courses.main.price": 13})
    merged = merge(base, mine, theirs)
    reading = read_document(merged.document)
    assert merged.clashes == ()
    assert reading.rules == (Bar(dish="soup"), Bar(dish="roast"), Pin(dish="roast", day=DAY))
    assert reading.cafe.plan_ahead_days == 2 and reading.cafe.courses["main"].price_cents == 1300
    assert (merged.document.settings or "").startswith("# ours\n")


def test_one_setting_or_rule_changed_twice_is_a_clash(base):
    mine = with_settings(base, {"plan_ahead_days": 2})
    theirs = with_settings(base, {"plan_ahead_days": 1})
    assert merge(base, mine, theirs).clashes == ("cafe.toml: plan_ahead_days",)
    mine, theirs = (with_rules(base, [Bar(dish=one)]) for one in ("roast", "tofu_salad"))
    merged = merge(base, mine, theirs)
    assert merged.clashes == ("cafe.toml: the rule 'Dish kept out'",)
    assert merged.document.settings == theirs.settings
    both_gone = with_rules(base, [])
    assert merge(base, both_gone, both_gone).clashes == ()


def test_a_table_with_other_columns_on_one_side_is_a_clash(base):
    rows = base.tables["stock.csv"]
    wider = Document(base.settings, {**base.tables, "stock.csv": (
        (*rows[0], "mine"), *((*row, "") for row in rows[1:]))})  # fmt: skip
    theirs = with_cell(base, "stock.csv", 2, "qty", "7")
    assert merge(base, wider, theirs).clashes == ("stock.csv: its columns",)
    assert merge(base, wider, base).document == wider
