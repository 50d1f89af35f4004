"""`week.xlsx`: what the week comes to, then one sheet for each report. No cell is a formula.

Numbers and dates are real ones with a format; texts are written as texts whatever they
begin with. The same contents give the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time
from decimal import Decimal

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from optimiser.cost_report import WEEK
from optimiser.report_base import Cell, money_text
from optimiser.sheets import Contents, Table

LONGEST_TEXT = 32_767
"""Characters that a cell of the format can hold."""

CUT = " … cut here: the CSV file has all of it"
WIDEST, NARROWEST = 46, 6
"""Widths of columns, in characters; longer texts wrap."""

A4 = 9
"""The format's number of the paper."""

SUMMARY_WIDTHS = (100, 16)
UNITS = {"g": "g", "min": "min", "pct": "%"}
"""Endings of columns -> the unit in the heading."""


def xlsx(shown: Contents) -> bytes:
    """The bytes of the workbook."""
    file = io.BytesIO()
    plain = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = Workbook(file, {"in_memory": True, **plain})
    made = datetime.combine(shown.planned_on, time())
    book.set_properties({"title": shown.title, "author": shown.cafe, "created": made})
    formats = Formats(book, shown.currency)
    _summary(book.add_worksheet("Summary"), formats, shown)
    for table in shown.tables.values():
        _table(book.add_worksheet(table.name.replace("_", " ").capitalize()), formats, table)
    book.close()
    return file.getvalue()


def heading(column: str) -> str:
    """A column's name for people: `portion_cost` is `Portion cost`, `left_g` is `Left, g`."""
    stem, _, ending = column.rpartition("_")
    words = (stem or ending).replace("_", " ").capitalize()
    if not stem:
        return words
    return f"{words}, {UNITS[ending]}" if ending in UNITS else f"{words} {ending}"


class Formats:
    """How a cell looks: by what it holds, and for numbers by the unit its column ends in."""

    def __init__(self, book: Workbook, currency: str) -> None:
        cell = {"valign": "top", "text_wrap": True}
        money = money_format(currency)
        # A quote prefix keeps a text a text also when someone edits the cell.
        self.text = book.add_format({**cell, "quote_prefix": True})
        self.head = book.add_format({**cell, "bold": True, "bottom": 1, "bg_color": "#E4E4E4"})
        self.title = book.add_format({"bold": True, "font_size": 14, "quote_prefix": True})
        self.bold = book.add_format({**cell, "bold": True})
        self.day = book.add_format({**cell, "num_format": "yyyy-mm-dd", "align": "left"})
        self.money = book.add_format({**cell, "num_format": f"{money};-{money}"})
        self._by_unit = {
            "g": book.add_format({**cell, "num_format": "#,##0.0#"}),
            "min": book.add_format({**cell, "num_format": "#,##0.0"}),
            "pct": book.add_format({**cell, "num_format": "0.0%"}),
        }
        self._number = book.add_format(cell)

    def number(self, column: str) -> Format:
        """The format of a number in a column."""
        return self._by_unit.get(column.rpartition("_")[2], self._number)


def money_format(currency: str) -> str:
    """The number format of an amount above zero, with the sign where `money_text` has it."""
    before, *_, after = re.split(r"\d+[.,]?", money_text(0, currency))
    return "#,##0.00".join(f'"{sign}"' if sign else "" for sign in (before, after))


def write(sheet: Worksheet, at: tuple[int, int], column: str, cell: Cell, looks: Formats) -> None:
    """Write one cell of a report; a percentage becomes its fraction, shown as percent."""
    if cell is None or cell == "":
        return
    if isinstance(cell, str):
        sheet.write_string(*at, _fitting(cell), looks.text)
    elif isinstance(cell, date):
        sheet.write_datetime(*at, cell, looks.day)
    elif isinstance(cell, Decimal):
        sheet.write_number(*at, float(cell), looks.money)
    else:
        share = round(cell / 100, 6) if column.endswith("_pct") else cell
        sheet.write_number(*at, share, looks.number(column))


def _fitting(text: str) -> str:
    """A text that a cell can hold, counted in UTF-16: longer ones would be left out
    without a word."""
    fits = len(text.encode("utf-16-le")) // 2 <= LONGEST_TEXT
    return text if fits else text[: (LONGEST_TEXT - len(CUT)) // 2] + CUT


def _table(sheet: Worksheet, looks: Formats, table: Table) -> None:
    for n, column in enumerate(table.columns):
        sheet.write_string(0, n, heading(column), looks.head)
        sheet.set_column(n, n, _width(heading(column), (row[column] for row in table.rows)))
        for line, row in enumerate(table.rows, 1):
            write(sheet, (line, n), column, row[column], looks)
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)
    sheet.repeat_rows(0)
    _print_setup(sheet)


def _width(head: str, cells: Iterable[Cell]) -> int:
    """As wide as the longest cell and the longest word of the heading, within limits."""
    longest = max((len(str(cell)) for cell in cells if cell is not None), default=0)
    filter_button = 3
    needed = max(longest + 1, *(len(word) + filter_button for word in head.split()))
    return min(WIDEST, max(NARROWEST, needed))


def _print_setup(sheet: Worksheet) -> None:
    """Landscape A4, as many pages long as it needs and one wide."""
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.fit_to_pages(1, 0)
    sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    sheet.set_footer("&L&A&RPage &P of &N")


def _summary(sheet: Worksheet, looks: Formats, shown: Contents) -> None:
    """Title, bound, the money terms, then what to watch."""
    for n, width in enumerate(SUMMARY_WIDTHS):
        sheet.set_column(n, n, width)
    sheet.write_string(0, 0, shown.title, looks.title)
    sheet.write_string(1, 0, shown.bound, looks.text)
    sheet.write_string(3, 0, "Money of the week", looks.head)
    sheet.write_string(3, 1, shown.currency, looks.head)
    line = 4
    for row in shown.rows("costs", section=WEEK):
        write(sheet, (line, 0), "name", row["name"], looks)
        write(sheet, (line, 1), "amount", row["amount"], looks)
        line += 1
    for title, lines in _below(shown):
        sheet.write_string(line + 1, 0, title, looks.bold)
        for n, text in enumerate(lines, line + 2):
            sheet.write_string(n, 0, _fitting(text), looks.text)
        line += 2 + len(lines)
    _print_setup(sheet)


def _below(shown: Contents) -> list[tuple[str, Sequence[str]]]:
    """Headings with their lines, those without lines left out."""
    found: list[tuple[str, Sequence[str]]] = [
        ("Rules broken for their price", shown.broken),
        ("Take care", shown.care),
    ]
    return [(title, lines) for title, lines in found if lines]
