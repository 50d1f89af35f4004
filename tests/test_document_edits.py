"""Edits of documents: what an edit does not speak of stays as it was typed."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.document import Document, folder_document, read_document
from optimiser.document_changes import changes
from optimiser.document_edits import (
    add_row,
    rows_of,
    with_cell,
    with_rows,
    with_rules,
    with_settings,
    without_row,
)
from optimiser.rules import Rule, parse_rule
from tests.rule_cases import PARAMETERS
from tests.store_documents import document

SAMPLE = Path(__file__).resolve().parents[1] / "sample_data"
TEXTS = st.sampled_from(["", " ", "a", " b ", "x,y", "\n", "DISH", "=1", "7"])


# -- rows ------------------------------------------------------------------------


@st.composite
def tables(draw: st.DrawFn) -> tuple[str, Document]:
    """Stock with any cells, columns of one's own, blank rows and rows of any length."""
    own = draw(st.lists(st.sampled_from(["note", "Note ", "note (2)", "", "mine"]), max_size=3))
    header = draw(st.permutations(["item", " QTY", "unit", "use_by", "state", *own]))
    row = st.lists(TEXTS, min_size=0, max_size=len(header) + 1).map(tuple)
    blank = st.just(("", " "))
    before = draw(st.lists(blank, max_size=1))
    body = draw(st.lists(st.one_of(row, blank), max_size=8))
    return "stock.csv", Document("", {"stock.csv": (*before, tuple(header), *body)})


@settings(max_examples=60, deadline=None)
@given(tables())
def test_rows_put_back_as_they_were_read_change_nothing(case: tuple[str, Document]) -> None:
    file, old = case
    assert with_rows(old, file, rows_of(old, file)) == old


@settings(max_examples=60, deadline=None)
@given(tables(), st.data())
def test_one_cell_changes_one_cell(case: tuple[str, Document], data: st.DataObject) -> None:
    file, old = case
    rows = rows_of(old, file)
    if not rows:
        return
    row = data.draw(st.sampled_from(rows))
    column = data.draw(st.sampled_from(sorted(row)))
    new = with_cell(old, file, row.line or 0, column, "new")
    before, after = old.tables[file], new.tables[file]
    assert len(before) == len(after)
    differ = [n for n, (a, b) in enumerate(zip(before, after, strict=True), 1) if a != b]
    assert differ == [row.line]
    was, now = before[(row.line or 0) - 1], after[(row.line or 0) - 1]
    padded = was + ("",) * (len(now) - len(was))
    assert [b for a, b in zip(padded, now, strict=True) if a != b] == ["new"]
    assert {**row, column: "new"} == next(r for r in rows_of(new, file) if r.line == row.line)


@settings(max_examples=60, deadline=None)
@given(tables(), st.data())
def test_rows_come_and_go_one_at_a_time(case: tuple[str, Document], data: st.DataObject) -> None:
    file, old = case
    more = add_row(old, file, {"item": "squash", "mine": ""})
    rows = rows_of(more, file)
    assert rows[:-1] == rows_of(old, file) and rows[-1]["item"] == "squash"
    assert not any(cell for name, cell in rows[-1].items() if name != "item")
    gone = data.draw(st.sampled_from(rows))
    left = rows_of(without_row(more, file, gone.line or 0), file)
    assert left == [row for row in rows if row.line != gone.line]


def test_lines_are_those_that_faults_name() -> None:
    old = document()
    head, *rows = old.tables["stock.csv"]
    gapped = Document(old.settings, {**old.tables, "stock.csv": (head, ("",), *rows)})
    line = rows_of(gapped, "stock.csv")[1].line
    with pytest.raises(Exception, match=rf"stock\.csv:{line}:qty: lots:"):
        read_document(with_cell(gapped, "stock.csv", line or 0, "qty", "lots"))


def test_an_optional_column_appears_when_a_row_fills_it() -> None:
    old = document()
    assert "fibre_g" not in rows_of(old, "ingredients.csv")[0]
    line = rows_of(old, "ingredients.csv")[1].line or 0
    new = with_cell(old, "ingredients.csv", line, "fibre_g", "2.5")
    assert [row["fibre_g"] for row in rows_of(new, "ingredients.csv")] == ["", "2.5", "", ""]
    assert read_document(new).cafe.ingredients["tofu"].fibre_g == 2.5
    with pytest.raises(ValueError, match="no column 'fiber'"):
        with_cell(old, "ingredients.csv", line, "fiber", "2.5")


def test_a_missing_table_is_made_when_it_gets_a_row() -> None:
    old = document(stock=None)
    assert rows_of(old, "stock.csv") == []
    row = {"item": "squash", "qty": "2", "unit": "each", "use_by": "2026-12-20", "state": "whole"}
    (lot,) = read_document(add_row(old, "stock.csv", row)).cafe.stock
    assert (lot.item, lot.use_by) == ("squash", date(2026, 12, 20))


def test_a_row_that_is_not_there_is_an_error() -> None:
    with pytest.raises(KeyError):
        with_cell(document(), "stock.csv", 99, "qty", "1")
    with pytest.raises(KeyError):
        without_row(document(), "stock.csv", 1)


# -- rules -----------------------------------------------------------------------


@st.composite
def rules(draw: st.DrawFn) -> Rule:
    """Any rule of any kind, hard or priced."""
    kind = draw(st.sampled_from(sorted(PARAMETERS)))
    price = draw(st.sampled_from([{}, {}, {"price_cents": 0.5}, {"price_cents": 1200.0}]))
    return parse_rule({"kind": kind, **draw(st.fixed_dictionaries(PARAMETERS[kind])), **price})


NOTES = st.sampled_from(["", "", "# about the next\n", "# heading\n\n", "\n", "# a\n\n# b\n"])
TAILS = st.sampled_from(["", "# the end", "\n# [[rules]]\n", "[money]\nleft_dry_pct = 90\n"])
TOP = """name = "A # [x]"  # a name
open_days = [  # two lines
    "mon",
    "tue" ]
text = '''
[[rules]]
# no comment
'''

[kitchen]
oven_min = 120 # one oven
"""


def reads_as(text: str) -> tuple[dict[str, Any], list[Rule], list[Rule]]:
    raw = tomllib.loads(text)
    lists = [[parse_rule(one) for one in raw.pop(key, [])] for key in ("rules", "rules_off")]
    return raw, lists[0], lists[1]


def written(text: str, *lists: list[Rule]) -> str:
    new = with_rules(Document(text, {}), *lists)
    assert new.settings is not None
    return new.settings


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_rules_written_are_read_again_and_the_rest_stays(data: st.DataObject) -> None:
    some = st.lists(rules(), max_size=4)
    text = TOP + data.draw(NOTES)
    for key in data.draw(st.lists(st.sampled_from(["rules", "rules_off"]), max_size=4)):
        alone = written("", [data.draw(rules())], [])
        text += alone.replace("[[rules]]", f"[[{key}]]") + data.draw(NOTES)
    text += data.draw(TAILS)
    text = text.replace("\n", data.draw(st.sampled_from(["\n", "\r\n"])))
    rest, on, off = reads_as(text)
    assert written(text, on) == text and written(text, on, off) == text

    pool = [*on, *off, *data.draw(some)]
    wanted = data.draw(st.lists(st.sampled_from(pool), max_size=5)) if pool else []
    wanted_off = data.draw(some)
    assert reads_as(written(text, wanted)) == (rest, wanted, off)
    both = written(text, wanted, wanted_off)
    assert reads_as(both) == (rest, wanted, wanted_off)
    for comment in ("# a name", "# two lines", "# no comment", "# one oven"):
        assert both.count(comment) == text.count(comment)
    assert both.count("# heading") == text.count("# heading")
    if "\r\n" in text:
        assert "\n" not in both.replace("\r\n", "")


@settings(max_examples=60, deadline=None)
@given(rules(), rules())
def test_a_rule_after_another_of_its_place(one: Rule, other: Rule) -> None:
    text = written("", [one])
    assert reads_as(written(text, [other])) == ({}, [other], [])
    assert reads_as(written(text, [other, one])) == ({}, [other, one], [])
    assert written(written(text, [], [one]), [one], []) == text


def test_the_sample_keeps_its_comments_when_a_rule_changes() -> None:
    sample = folder_document(SAMPLE)
    on = list(read_document(sample).rules)
    place = next(n for n, rule in enumerate(on) if rule.kind == "neighbours")
    on[place] = on[place].model_copy(update={"price_cents": 150.0})
    new = with_rules(sample, on)
    assert read_document(new).rules == tuple(on)
    assert [str(one) for one in changes(sample, new)] == [
        "cafe.toml: rule neighbours.price_cents is now 150."
    ]
    before, after = (sample.settings or "").split("\n"), (new.settings or "").split("\n")
    assert [line for line in after if line not in before] == ["price_cents = 150"]
    assert [line for line in before if line not in after] == []


def test_a_rule_taken_out_takes_its_own_comment_and_no_other() -> None:
    text = """[[rules]]
kind = "spacing" # days

# -- Pins --

# not on Mondays, please
[[rules]]
kind = "bar"
dish = "soup"

# for Ana
[[rules]]
kind = "neighbours"
# the end
"""
    _, (spacing, _, neighbours), _ = reads_as(text)
    assert (
        written(text, [spacing, neighbours])
        == """[[rules]]
kind = "spacing" # days

# -- Pins --

# for Ana
[[rules]]
kind = "neighbours"
# the end
"""
    )


def test_a_rule_switched_off_keeps_its_comment_and_place_of_mind() -> None:
    text = '[[rules]]\n# of salads\nkind = "neighbours"  # hm\ncourse = "salad"\n'
    _, on, _ = reads_as(text)
    off = written(text, [], on)
    assert off == text.replace("[[rules]]", "[[rules_off]]")
    assert written(off, on, []) == text


def test_rules_in_one_list_become_tables() -> None:
    text = 'rules = [{kind = "spacing", gap_days = 3}, {kind = "neighbours"}]\nname = "x"\n'
    rest, on, _ = reads_as(text)
    new = written(text, [on[1]])
    assert reads_as(new) == (rest, [on[1]], [])


def test_a_long_list_is_broken_into_lines() -> None:
    dishes = tuple(f"a_dish_with_a_long_name_{n:03}" for n in range(200))
    rule = parse_rule({"kind": "keep_day", "day": date(2026, 11, 30), "dishes": dishes})
    text = written("", [rule])
    assert reads_as(text)[1] == [rule]
    assert max(map(len, text.split("\n"))) < 100


def test_rules_switched_off_are_read_but_not_asked() -> None:
    old = document()
    (bar,) = read_document(old).rules
    reading = read_document(with_rules(old, [], [bar]))
    assert (reading.rules, reading.rules_off, reading.notes) == (
        (),
        (bar,),
        read_document(old).notes,
    )
    gone = bar.model_copy(update={"dish": "nowhere"})
    assert read_document(with_rules(old, [], [gone])).rules_off == (gone,)
    with pytest.raises(Exception, match=r"rules\.1: bar: .*nowhere"):
        read_document(with_rules(old, [gone]))
    with pytest.raises(Exception, match=r"rules_off\.1\.kind"):
        read_document(Document((old.settings or "") + '[[rules_off]]\nkind = "x"\n', old.tables))


# -- settings ----------------------------------------------------------------------


def test_settings_change_in_their_place() -> None:
    sample = folder_document(SAMPLE)
    new = with_settings(
        sample,
        {"courses.salad.slots": 5, "kitchen.hands_on_min.mon": 700, "currency": "NZD",
         "money.left_dry_pct": 90.5, "week": date(2026, 12, 7), "cup_ml": None},
    )  # fmt: skip
    cafe = read_document(new).cafe
    assert (cafe.courses["salad"].slots, cafe.currency, cafe.week) == (5, "NZD", date(2026, 12, 7))
    assert (cafe.kitchen.hands_on_min or ())[0] == 700 and cafe.money.left_dry_pct == 90.5
    before, after = (sample.settings or "").split("\n"), (new.settings or "").split("\n")
    assert sorted(set(after) - set(before)) == [
        'currency = "NZD"', "left_dry_pct = 90.5", "mon = 700", "slots = 5", "week = 2026-12-07",
    ]  # fmt: skip
    assert len(after) == len(before) - 1


PATHS = st.sampled_from(
    ["name", "plate.main", "courses.salad.slots", "courses.salad.price", "courses.tart.slots",
     "kitchen.oven_min", "kitchen.hands_on_min.mon", "kitchen.hob_min", "money.left_dry_pct",
     "open_days"]
)  # fmt: skip
VALUES = st.one_of(st.integers(0, 9), st.floats(0, 1e6), st.text("ab# \"'\n", max_size=5),
                   st.lists(st.sampled_from(["mon", "tue"])))  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(PATHS, st.one_of(st.none(), VALUES), max_size=4))
def test_settings_written_are_read_again_and_the_rest_stays(wanted: dict[str, Any]) -> None:
    text = document().settings or ""
    expected = tomllib.loads(text)
    for path, value in wanted.items():
        *above, last = path.split(".")
        table = expected
        for name in above:
            table = table.setdefault(name, {})
        table.pop(last, None)
        if value is not None:
            table[last] = value
    found = tomllib.loads(with_settings(Document(text, {}), wanted).settings or "")
    assert _without_empty(found) == _without_empty(expected)


def _without_empty(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    parts = {key: _without_empty(part) for key, part in value.items()}
    return {key: part for key, part in parts.items() if part != {}}


def test_the_same_settings_leave_the_text_alone() -> None:
    sample = folder_document(SAMPLE)
    same = {"courses.salad.slots": 6, "open_days": ["mon", "tue", "wed", "thu", "fri", "sat"]}
    assert with_settings(sample, same) == sample
