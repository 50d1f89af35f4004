"""A count kept apart until it is saved, and a counted list handed in as a file."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from openpyxl import Workbook

from optimiser.book import write_book
from optimiser.document import Document, parse_csv, read_document
from optimiser.document_changes import changes
from optimiser.larder_count import (
    Draft,
    applied,
    lot_lines,
    lots_between,
    lots_moved,
    qty_text,
    rebased,
    step_of,
    stepped,
    stock_of,
)
from optimiser.larder_list import MAX_LIST_BYTES, NewStock, read_list, with_stock
from optimiser.rules import parse_rule
from optimiser.table_faults import TableFaults
from tests.cafe_folder import FILES
from tests.store_documents import document

STOCK = FILES["stock"]
TWO_RULES = """
[[rules]]
kind = "use_up"
lot = "stock-2"   # the half

[[rules]]
kind = "use_up"
lot = "stock-4"

[[rules_off]]
kind = "use_up"
lot = "stock-5"
"""


def ruled() -> Document:
    return document(cafe=FILES["cafe"] + TWO_RULES)


def lots_of(changed: Document) -> list[str | None]:
    """The lots that rules name, those switched off last."""
    reading = read_document(changed)
    both = (*reading.rules, *reading.rules_off)
    return [getattr(rule, "lot", None) for rule in both if rule.kind == "use_up"]


def test_lots_are_found_by_their_row_blank_ones_left_out():
    records = parse_csv("\n" + STOCK.replace("quinoa,2", "\n,,,,\nquinoa,2"))
    lines = lot_lines(records)
    assert lines["stock-1"] == 3 and records[lines["stock-3"] - 1][0] == "quinoa"


def test_a_count_changes_its_cell_only_and_nothing_left_takes_the_row_out():
    records = stock_of(document())
    draft = Draft(records).counted(2, "4").counted(3, "0").counted(4, "2.0").uncounted(9)
    assert draft.differing == {2: "4", 3: "0"}
    new, names = applied(draft)
    assert new == (records[0], ("squash", "4", *records[1][2:]), *records[3:])
    assert names == {"stock-1": "stock-1", "stock-3": "stock-2", "stock-4": "stock-3",
                     "stock-5": "stock-4"}  # fmt: skip


def test_columns_of_ones_own_and_their_order_stay():
    records = parse_csv("shelf,Qty,item,unit,use_by,state\nleft,3,squash,each,2026-12-20,whole\n")
    assert applied(Draft(records).counted(2, "1"))[0][1] == ("left", "1", *records[1][2:])


def test_rules_follow_their_lot_and_go_with_it():
    old = ruled()
    reading = read_document(old)
    draft = Draft(stock_of(old)).counted(3, "0")  # the opened half, which a rule names
    stock = with_stock(old, reading, *applied(draft))
    assert [rule.lot for rule in stock.dropped] == ["stock-2"]
    assert lots_of(stock.document) == ["stock-3", "stock-4"]  # quinoa and squash, a row higher
    assert "[[rules_off]]" in (stock.document.settings or "")


def test_without_rules_about_lots_the_settings_stay_as_typed():
    old = document()
    stock = with_stock(old, read_document(old), *applied(Draft(stock_of(old)).counted(2, "0")))
    assert stock.document.settings == old.settings and stock.dropped == ()


def test_rules_without_a_lot_are_left_alone():
    bar, carrots = (
        parse_rule({"kind": "bar", "dish": "soup"}),
        parse_rule({"kind": "use_up", "item": "carrot"}),
    )
    assert lots_moved((bar, carrots), {}) == (bar, carrots)


@pytest.mark.parametrize(
    ("unit", "state", "step"),
    [("each", "whole", "1"), ("each", "opened", "0.25"), ("kg", "whole", "0.1"),
     ("l", "opened", "0.1"), ("g", "opened", "50"), ("ml", "whole", "50"),
     ("portion", "cooked", "1")],
)  # fmt: skip
def test_a_press_is_what_one_counts_in(unit, state, step):
    assert step_of(unit, state) == Decimal(step)


def test_presses_add_up_exactly_and_stop_at_nothing():
    qty = "0.1"
    for _ in range(2):
        qty = stepped(qty, Decimal("0.1"))
    assert qty == "0.3"
    assert stepped("0.5", Decimal(-1)) == "0"
    assert qty_text(1e-05) == "0.00001" and qty_text(30.0) == "30" and qty_text(2.5) == "2.5"


# -- somebody else saves meanwhile


def test_a_count_goes_on_where_nobody_touched_its_rows():
    records = stock_of(document())
    draft = Draft(records).counted(4, "1.5")
    without_first = (records[0], *records[2:])
    moved, told = rebased(draft, without_first)
    assert dict(moved.counts) == {3: "1.5"} and moved.rows == without_first and told == []
    assert rebased(draft, records) == (draft, [])


def test_a_row_that_somebody_changed_or_took_out_is_told_and_no_count_is_lost():
    records = stock_of(document())
    draft = Draft(records).counted(2, "1").counted(3, "0.25").counted(4, "1")
    theirs = parse_csv(
        STOCK.replace("squash,3,", "squash,2,")
        .replace("squash,0.5,each,2026-12-01,opened\n", "")
        .replace("quinoa,2,kg", "quinoa,1900,g")
    )
    moved, told = rebased(draft, theirs)
    assert dict(moved.counts) == {2: "1"}
    text = "\n".join(told)
    assert "you counted 1 each; meanwhile it was saved as 2 each" in text
    assert "you counted 0.25 each; its row has been taken out" in text
    assert "you counted 1 kg; it is now kept as 1900 g; count it again" in text


def test_lots_are_known_again_by_all_cells_then_by_item_state_and_date():
    old = stock_of(document())
    new = parse_csv(
        "item,qty,unit,use_by,state\n"
        "squash,7.4,kg,2026-12-20,whole\n"
        "squash,1,each,2026-12-20,whole\n"
        "tofu,1,each,2026-12-20,whole\n"
        "quinoa,2,kg,,whole\n"
    )
    assert lots_between(old, new) == {
        "stock-5": "stock-1", "stock-1": "stock-2", "stock-3": "stock-4"
    }  # fmt: skip


# -- a list handed in


def handed_in(name: str, raw: bytes, old: Document | None = None) -> NewStock:
    old = old or document()
    return read_list(name, raw, old, read_document(old))


def test_a_counted_csv_becomes_the_stock_and_rules_follow():
    old = ruled()
    text = "item,qty,unit,use_by,state\nsquash,0.25,each,2026-12-01,opened\nquinoa,1,kg,,whole\n"
    stock = handed_in("count.CSV", b"\xef\xbb\xbf" + text.encode(), old)
    assert stock_of(stock.document) == parse_csv(text)
    assert lots_of(stock.document) == ["stock-1"]
    assert [rule.lot for rule in stock.dropped] == ["stock-4", "stock-5"]
    said = [str(one) for one in changes(old, stock.document)]
    assert any("qty" in one and "was 0.5, is now 0.25" in one for one in said)


def test_every_fault_of_a_list_is_told_at_once_with_row_and_column():
    bad = STOCK.replace("quinoa,2,kg", "quinua,2,kg").replace("2026-12-20,whole\n", "20/12,whole\n")
    with pytest.raises(TableFaults) as caught:
        handed_in("count.csv", bad.encode(), ruled())
    places = {(fault.file, fault.row, fault.column) for fault in caught.value.faults}
    assert {("stock.csv", 2, "use_by"), ("stock.csv", 4, "item"), ("stock.csv", 6, "use_by")} == (
        places
    )


@pytest.mark.parametrize(
    ("name", "raw", "words"),
    [
        ("count.csv", b"\xff\xfe", "UTF-8"),
        ("count.csv", b"", "no header row"),
        ("count.csv", b'item,qty,unit,use_by,state\n"squash,1,each,,whole\n', "quote"),
        ("count.xlsx", b"PK nonsense", "not a workbook"),
        ("count.csv", b"x" * (MAX_LIST_BYTES + 1), "over 2 MB"),
    ],
)
def test_what_is_no_list_is_refused_in_words(name, raw, words):
    with pytest.raises(TableFaults, match=words):
        handed_in(name, raw)


def book(title: str, *rows: list[object]) -> bytes:
    made = Workbook()
    sheet = made.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    made.create_sheet("Notes").append(["anything"])
    raw = io.BytesIO()
    made.save(raw)
    return raw.getvalue()


HEAD: list[object] = ["item", "qty", "unit", "use_by", "state"]


def test_only_the_stock_sheet_of_a_book_is_taken():
    raw = book("Stock", HEAD, ["quinoa", 1.5, "kg", None, "whole"])
    old = document()
    stock = handed_in("count.xlsx", raw, old)
    assert stock_of(stock.document)[1:] == (("quinoa", "1.5", "kg", "", "whole"),)
    whole = handed_in("cafe.xlsx", write_book(old), old)
    assert whole.document == old


def test_faults_of_cells_and_of_the_table_in_a_book_are_told_together():
    raw = book("stock", HEAD, ["quinoa", "=1+1", "kg", None, "whole"], ["tofu", 1, "each", 5, "?"])
    with pytest.raises(TableFaults) as caught:
        handed_in("count.xlsx", raw)
    told = [(fault.row, fault.column) for fault in caught.value.faults]
    assert (2, "qty") in told and (3, "use_by") in told and (3, "state") in told
    assert len(told) == len(set(told))


def test_a_book_without_the_sheet_says_what_to_call_it():
    with pytest.raises(TableFaults, match="no sheet called stock; give one that name"):
        handed_in("count.xlsx", book("Sheet1", HEAD))
