"""The workbook: cells come back as typed, nothing in it runs, hand-edited ones are read."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.cell.cell import Cell
from openpyxl.utils.cell import coordinate_to_tuple

from optimiser import book as books
from optimiser.book import LONGEST_CELL, cell_text, read_book, write_book
from optimiser.document import Document, folder_document, read_document
from optimiser.document_changes import changes
from optimiser.table_schema import FILE_ORDER
from optimiser.tables import TableFaults
from tests.store_documents import document
from tests.test_store_documents import CELLS

ROOT = Path(__file__).resolve().parents[1]


def back(tables: Document) -> Document:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        path.write_bytes(write_book(tables))
        return read_book(path)


def opened(tables: Document) -> Any:
    return load_workbook(io.BytesIO(write_book(tables)))


def edited(tmp_path: Path, edit: Callable[[Any], object]) -> Path:
    """The test cafe's workbook as somebody's spreadsheet program would save it."""
    book = opened(document())
    edit(book)
    book.save(tmp_path / "edited.xlsx")
    return tmp_path / "edited.xlsx"


def put(sheet: str, place: str, value: object, shown_as: str = "General") -> Callable[[Any], None]:
    """An edit of one cell."""

    def edit(book: Any) -> None:
        cell: Cell = book[sheet][place]
        cell.value = value
        cell.number_format = shown_as

    return edit


def faults(path: Path) -> list[str]:
    with pytest.raises(TableFaults) as caught:
        read_book(path)
    return [str(fault) for fault in caught.value.faults]


# -- out and in ---------------------------------------------------------------


def test_the_sample_comes_back_cell_by_cell() -> None:
    sample = folder_document(ROOT / "sample_data")
    assert back(sample) == sample


def test_every_file_is_a_sheet_and_the_settings_stand_line_by_line() -> None:
    book = opened(document(history=None))
    assert book.sheetnames == [file for file in FILE_ORDER if file != "history.csv"]
    lines = [row[0].value for row in book["cafe.toml"].iter_rows()]
    assert lines[:2] == ['name = "The Test Bench"', 'currency = "AUD"']


ODD = ["=1+1", "+1", "-1", "@x", "{=1}", "007", "1e5", "2026-11-30", "TRUE", "http://a.example"]


def test_every_cell_is_a_text_that_cannot_run() -> None:
    head, *rows = document().tables["ingredients.csv"]
    own = [(*row, odd) for row, odd in zip(rows * 3, ODD, strict=False)]
    tables = {**document().tables, "ingredients.csv": ((*head, "mine"), *own)}
    content = write_book(Document(document().settings, tables))
    sheets = [name for name in zipfile.ZipFile(io.BytesIO(content)).namelist() if "sheet" in name]
    for name in sheets:
        assert b"<f>" not in zipfile.ZipFile(io.BytesIO(content)).read(name), name
    seen = 0
    for sheet in load_workbook(io.BytesIO(content)).worksheets:
        for row in sheet.iter_rows():
            for cell in (cell for cell in row if cell.value is not None):
                assert cell.data_type in ("s", "inlineStr") and isinstance(cell.value, str)
                assert cell.number_format == "@" and cell.quotePrefix
                seen += cell.value in ODD
    assert seen >= len(ODD)


@settings(max_examples=80, deadline=None)
@given(st.lists(CELLS, min_size=4, max_size=4))
@example(["_x000D_", "_x005F_x0041_", "a\rb", "\r\n"])
@example(["a_x0041_x0042_", "_x005F_\r", "_x005F", "_x000d_"])
@example(["\ufffe\uffff", "\x0b\x0c", " lead", "trail "])
def test_any_text_comes_back_as_typed(cells: list[str]) -> None:
    head, *rows = document().tables["ingredients.csv"]
    own = [(*row, cell) for row, cell in zip(rows, cells, strict=True)]
    tables = {**document().tables, "ingredients.csv": ((*head, "mine"), *own)}
    whole = Document(document().settings, tables)
    assert back(whole) == whole


def test_settings_that_end_in_no_newline_or_several_mean_the_same() -> None:
    settings = document().settings
    assert settings is not None
    for text in (settings.rstrip("\n"), settings + "\n\n", settings.replace("\n", "\r\n")):
        tables = Document(text, document().tables)
        assert read_document(back(tables)) == read_document(document())


def test_the_one_text_that_would_not_come_back_is_refused() -> None:
    head, *rows = document().tables["covers.csv"]
    own = [(*rows[0], "_x0041\r"), *((*row, "") for row in rows[1:])]
    tables = {**document().tables, "covers.csv": ((*head, "mine"), *own)}
    with pytest.raises(TableFaults, match="covers.csv:2:cell 6: .*control characters that a"):
        write_book(Document(document().settings, tables))


def test_a_cell_that_a_workbook_cannot_hold_is_named() -> None:
    head, *rows = document().tables["covers.csv"]
    for length, fits in ((LONGEST_CELL, True), (LONGEST_CELL + 1, False)):
        own = [(*rows[0], "x" * length), *((*row, "") for row in rows[1:])]
        tables = {**document().tables, "covers.csv": ((*head, "mine"), *own)}
        whole = Document(document().settings, tables)
        if fits:
            assert back(whole) == whole
            continue
        with pytest.raises(TableFaults, match="covers.csv:2:cell 6: .*holds 32,767 characters"):
            write_book(whole)


# -- edited by hand -------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "place", "value", "shown_as", "text"),
    [
        ("offers.csv", "E2", 9.5, "0.00", "9.5"),
        ("offers.csv", "E2", 28, "General", "28"),
        ("offers.csv", "E2", 0.1 + 0.2, '"$"0.00', "0.3"),
        ("offers.csv", "F2", date(2026, 11, 3), "yyyy-mm-dd", "2026-11-03"),
        ("offers.csv", "F2", datetime(2026, 11, 3), "dd/mm/yy", "2026-11-03"),
        ("suppliers.csv", "G2", time(9, 30), "hh:mm", "09:30"),
        ("suppliers.csv", "G2", timedelta(hours=9, minutes=30), "[h]:mm", "09:30"),
        ("recipe_lines.csv", "F2", True, "General", "yes"),
        ("recipe_lines.csv", "F2", False, "General", "no"),
        ("dishes.csv", "B2", "Quinoa, cooked", "General", "Quinoa, cooked"),
    ],
)
def test_real_numbers_dates_and_times_become_the_texts_of_the_tables(
    tmp_path: Path, sheet: str, place: str, value: object, shown_as: str, text: str
) -> None:
    found = read_book(edited(tmp_path, put(sheet, place, value, shown_as)))
    row, column = coordinate_to_tuple(place)
    assert found.tables[sheet][row - 1][column - 1] == text
    assert len(changes(document(), found)) <= 2  # a row by another key is one gone, one new


def test_a_workbook_saved_by_another_program_says_the_same(tmp_path: Path) -> None:
    assert read_book(edited(tmp_path, lambda book: None)) == document()


def test_a_row_more_and_blank_cells_around_are_fine(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        book["stock.csv"].append(["quinoa", 1.5, "kg", None, "whole"])
        book["stock.csv"]["A40"] = " "
        book["stock.csv"]["Z3"].number_format = "0.0"

    found = read_book(edited(tmp_path, edit))
    assert [str(change) for change in changes(document(), found)] == [
        "stock.csv: the row quinoa, whole (2) is new."
    ]


@pytest.mark.parametrize("name", ["ingredients", "Ingredients", " INGREDIENTS.CSV "])
def test_a_sheet_may_be_named_without_the_ending(tmp_path: Path, name: str) -> None:
    def edit(book: Any) -> None:
        book["ingredients.csv"].title = name

    assert read_book(edited(tmp_path, edit)) == document()


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (put("offers.csv", "E3", "=4+5"), "offers.csv:3:price: =4+5: a formula; put its result"),
        (put("offers.csv", "E3", "#REF!"), "offers.csv:3:price: #REF!: the error of a formula"),
        (put("ingredients.csv", "G2", 0.84, "0%"), "ingredients.csv:2:yield_pct: 0.84: a percent"),
        (put("offers.csv", "E3", "nine"), "offers.csv:3:price: nine: not an amount of money"),
        (put("offers.csv", "E3", -9.5), "offers.csv:3:price: -9.5: not an amount of money"),
        (put("suppliers.csv", "G2", timedelta(hours=30), "[h]:mm"), "suppliers.csv:2:cut_off: 1 d"),
        (put("stock.csv", "D2", datetime(2026, 12, 1, 9, 30), "yyyy-mm-dd hh:mm"),
         "stock.csv:2:use_by: 2026-12-01T09:30:00: not a date"),
        (put("stock.csv", "H2", "aside"), "stock.csv:2:cell 6: (blank): 8 cells where the header"),
        (put("cafe.toml", "A8", "[courses.salad"), "cafe.toml:8:character"),
        (put("cafe.toml", "B3", "here?"), "cafe.toml:3:cell 2: here?: text beside the settings"),
        (lambda book: book.remove(book["dishes.csv"]), "dishes.csv: missing; add this table"),
        (lambda book: book.remove(book["cafe.toml"]), "cafe.toml: missing; add this table"),
        (lambda book: book.create_sheet("Notes").append(["mine"]), "Notes: no such table; give it"),
        (lambda book: book.create_sheet("Dishes"), "dishes.csv: this sheet is there twice"),
    ],
)  # fmt: skip
def test_a_fault_names_sheet_row_and_column(
    tmp_path: Path, edit: Callable[[Any], object], told: str
) -> None:
    found = faults(edited(tmp_path, edit))
    assert any(line.startswith(told) for line in found), found


def test_faults_of_the_book_and_of_the_tables_are_told_together(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        put("offers.csv", "E3", "=4+5")(book)
        put("stock.csv", "A2", "squosh")(book)

    found = faults(edited(tmp_path, edit))
    assert [line.split(" ")[0] for line in found] == ["offers.csv:3:price:", "stock.csv:2:item:"]


def test_a_sheet_with_too_many_rows_or_columns_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = edited(tmp_path, put("stock.csv", "A100", "squash"))
    monkeypatch.setattr(books, "MAX_ROWS", 50)
    assert faults(path) == ["stock.csv: more than 50 rows; delete those below the table"]
    monkeypatch.undo()
    monkeypatch.setattr(books, "MOST_COLUMNS", 40)
    path = edited(tmp_path, put("stock.csv", "AO3", "far"))
    assert faults(path)[0].startswith("stock.csv:3:cell 41: far: more than 40 columns")


# -- no workbook ------------------------------------------------------------------


def test_what_is_no_workbook_ends_in_a_sentence(tmp_path: Path) -> None:
    whole = write_book(document())
    path = tmp_path / "bad.xlsx"
    refused = 0
    for cut in range(0, len(whole), 700):
        for content in (whole[:cut], whole[:cut] + b"\xff" * 30 + whole[cut + 30 :]):
            path.write_bytes(content)
            try:
                read_book(path)
            except TableFaults as found:
                assert found.faults and all(str(fault).isprintable() for fault in found.faults)
                refused += 1
    assert refused > len(whole) // 700
    for content in (b"", b"name,price\n"):
        path.write_bytes(content)
        assert faults(path) == ["bad.xlsx: not a workbook; save it again as .xlsx"]
    assert faults(tmp_path / "nowhere.xlsx") == [
        "nowhere.xlsx: cannot be read: No such file or directory"
    ]
    assert "Is a directory" in faults(tmp_path)[0]


def test_a_workbook_that_unpacks_to_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "huge.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 2_000_000)
    monkeypatch.setattr(books, "MAX_UNPACKED_BYTES", 1_000_000)
    assert faults(path) == ["huge.xlsx: holds more than 1 MB; drop what is no table"]


def test_an_empty_workbook_misses_every_table(tmp_path: Path) -> None:
    Workbook().save(tmp_path / "empty.xlsx")
    assert "ingredients.csv: missing; add this table" in faults(tmp_path / "empty.xlsx")


@settings(max_examples=300, deadline=None)
@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12))
def test_a_number_becomes_plain_digits_of_its_value(value: float) -> None:
    text = cell_text(value, "n")
    assert "e" not in text.lower() and float(text) == float(f"{value:.15g}")
