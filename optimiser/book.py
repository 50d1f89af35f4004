"""All tables as one workbook (XLSX), and a workbook read again.

One sheet a file, named as the file, so that a fault names the sheet; `cafe.toml` has a
line of its text in each row. Every cell is written as a text: nothing in it can run, and
ids, dates and numbers come back as typed. A sheet edited by hand may hold real numbers,
dates and times; they become the texts that the tables' reader knows.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from openpyxl import load_workbook
from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from optimiser.document import Document, Records, faults_of
from optimiser.table_faults import Fault, Findings
from optimiser.table_rows import MAX_ROWS
from optimiser.table_schema import FILE_ORDER, SETTINGS_FILE

LONGEST_CELL = 32_767
"""UTF-16 units that a cell of the format holds."""

MOST_COLUMNS = 500
MAX_UNPACKED_BYTES = 300_000_000
"""Of everything in a workbook, which is a packed file."""

SIGNIFICANT_DIGITS = 15
"""Of a number in a cell: more is the rest of a binary fraction."""

WIDTH, SETTINGS_WIDTH = 18, 100
TEXT = "@"
"""The number format of a text cell: what is typed into it stays as typed."""

_ESCAPED = re.compile(r"_x005F(_x[0-9A-Fa-f]{4}_)|_x([0-9A-Fa-f]{4})_")
"""The format writes a control character as `_x000D_`, and text that looks like one as
`_x005F_x000D_`."""

_AMBIGUOUS = re.compile(r"_x[0-9A-Fa-f]{4}[\x00-\x08\x0b-\x1f\ufffe\uffff]")
"""Text that would not come back: half of such a mark before a control character."""


def write_book(document: Document) -> bytes:
    """The workbook of a document. Raises TableFaults for cells that it cannot hold."""
    findings = Findings()
    file = io.BytesIO()
    # Texts stand in their cells (constant_memory), not in a list apart: openpyxl reads
    # those unchanged.
    book = Workbook(file, {"constant_memory": True})
    look = book.add_format({"num_format": TEXT, "quote_prefix": True, "valign": "top"})
    for name, records in _sheets(document).items():
        sheet = book.add_worksheet(name)
        widest = max((len(cells) for cells in records), default=0)
        width = SETTINGS_WIDTH if name == SETTINGS_FILE else WIDTH
        sheet.set_column(0, max(0, widest - 1), width, look)
        if name != SETTINGS_FILE:
            sheet.freeze_panes(1, 0)
        _write(sheet, records, look, name, findings)
    book.close()
    findings.raise_if_any(FILE_ORDER)
    return file.getvalue()


def _sheets(document: Document) -> dict[str, Records]:
    """Sheet name -> its cells."""
    lines = (document.settings or "").removesuffix("\n").split("\n")
    return {SETTINGS_FILE: tuple((line,) for line in lines), **document.tables}


def _write(sheet: Worksheet, records: Records, look: Any, name: str, findings: Findings) -> None:
    if len(records) > MAX_ROWS + 1:
        findings.fault(name, None, None, "", f"more than {MAX_ROWS:,} rows; drop old ones")
        return
    for row, cells in enumerate(records):
        if len(cells) > MOST_COLUMNS:
            findings.fault(name, row + 1, None, "", f"more than {MOST_COLUMNS} columns; drop some")
            return
        for column, cell in enumerate(cells):
            if not cell:
                continue
            message = ""
            if len(cell.encode("utf-16-le", "surrogatepass")) // 2 > LONGEST_CELL:
                message = f"a workbook's cell holds {LONGEST_CELL:,} characters; shorten it"
            elif _AMBIGUOUS.search(cell):
                message = "control characters that a workbook cannot hold; type it again"
            if message:
                findings.fault(name, row + 1, f"cell {column + 1}", cell, message)
            else:
                sheet.write_string(row, column, cell, look)


def read_book(path: Path) -> Document:
    """The tables of a workbook. Raises TableFaults with every fault of theirs."""
    findings = Findings()
    found = _Book(path, findings)
    document = Document(_settings(found.sheets.pop(SETTINGS_FILE, None), findings), found.sheets)
    told = {(fault.file, fault.row, fault.column) for fault in findings.faults}
    torn = any(fault.file in FILE_ORDER and fault.row is None for fault in findings.faults)
    inside = None if torn else faults_of(document)
    for fault in inside.faults if inside is not None else ():
        if (fault.file, fault.row, fault.column) not in told:
            findings.faults.append(fault)
    findings.raise_if_any(FILE_ORDER)
    return document


def read_sheet(path: Path, file: str) -> tuple[Records, tuple[Fault, ...]]:
    """One table of a workbook, whatever else it holds, and the faults of its cells.
    Raises TableFaults if the table cannot be had."""
    findings = Findings()
    sheets = _Book(path, findings).sheets
    if file not in sheets:
        name = file.rpartition(".")[0]
        findings = Findings()
        findings.fault(path.name, None, None, "", f"no sheet called {name}; give one that name")
        findings.raise_if_any(FILE_ORDER)
    return sheets[file], tuple(fault for fault in findings.faults if fault.file == file)


def _settings(rows: Records | None, findings: Findings) -> str | None:
    """The text of cafe.toml from its lines in the first column; None if there is no sheet."""
    if rows is None:
        return None
    for count, cells in enumerate(rows, 1):
        if len(cells) > 1:
            message = "text beside the settings; they stand in the first column only"
            findings.fault(SETTINGS_FILE, count, "cell 2", cells[-1], message)
    return "".join(f"{cells[0] if cells else ''}\n" for cells in rows)


class _Book:
    """The sheets of a workbook as texts; what cannot be one is a fault."""

    def __init__(self, path: Path, findings: Findings) -> None:
        self.findings = findings
        self.sheets: dict[str, Records] = {}
        try:
            _refuse_huge(path)
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")  # of parts of a workbook that we do not use
                book = load_workbook(path, read_only=True, keep_links=False)
                try:
                    for sheet in book.worksheets:
                        self._read(sheet)
                finally:
                    book.close()
        except OSError as error:
            self._whole(path.name, f"cannot be read: {error.strerror or error}")
        except _Huge:
            most = f"{MAX_UNPACKED_BYTES / 1e6:g} MB"
            self._whole(path.name, f"holds more than {most}; drop what is no table")
        except Exception:  # whatever the libraries raise on bytes that are no workbook
            self._whole(path.name, "not a workbook; save it again as .xlsx")

    def _whole(self, file: str, message: str) -> None:
        self.findings.fault(file, None, None, "", message)
        self.findings.raise_if_any(FILE_ORDER)

    def _read(self, sheet: Any) -> None:
        """Read one sheet, if it is one of the tables."""
        name = _file_of(sheet.title)
        rows = list(self._rows(sheet, name or sheet.title))
        while rows and not any(rows[-1]):
            rows.pop()
        if name is None:
            if rows:
                mend = "give it the name of a table, or take it out"
                self.findings.fault(sheet.title, None, None, "", f"no such table; {mend}")
        elif name in self.sheets:
            self.findings.fault(name, None, None, "", "this sheet is there twice; keep one")
        elif name == SETTINGS_FILE:
            self.sheets[name] = tuple(rows)
        else:
            self.sheets[name] = _even(rows)

    def _rows(self, sheet: Any, name: str) -> Iterable[tuple[str, ...]]:
        sheet.reset_dimensions()  # programs write wrong ones
        head: tuple[str, ...] = ()
        for count, cells in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS + 1), 1):
            if count > MAX_ROWS + 1:
                message = f"more than {MAX_ROWS:,} rows; delete those below the table"
                self.findings.fault(name, None, None, "", message)
                return
            texts = []
            for place, cell in enumerate(cells):
                column = head[place] if place < len(head) and head[place] else f"cell {place + 1}"
                texts.append(self._text(name, count, column, cell))
            while texts and not texts[-1]:
                texts.pop()
            if len(texts) > MOST_COLUMNS:
                message = f"more than {MOST_COLUMNS} columns; take out those beside the table"
                self.findings.fault(name, count, f"cell {MOST_COLUMNS + 1}", texts[-1], message)
                return
            if not head:
                head = tuple(text.strip().lower() for text in texts)
            yield tuple(texts)

    def _text(self, name: str, row: int, column: str, cell: Any) -> str:
        try:
            return cell_text(cell.value, cell.data_type, getattr(cell, "number_format", ""))
        except ValueError as error:
            self.findings.fault(name, row, column, str(cell.value), str(error))
            return ""


def _file_of(title: str) -> str | None:
    """The file that a sheet is meant for: its name, in any case, the ending left out or not."""
    asked = title.strip().lower()
    for file in FILE_ORDER:
        if asked in (file, file.rpartition(".")[0]):
            return file
    return None


def _even(rows: list[tuple[str, ...]]) -> Records:
    """Rows as wide as the header; cells beyond it stay, to be told as faults."""
    head = next((row for row in rows if any(row)), ())
    return tuple(row + ("",) * (len(head) - len(row)) for row in rows)


def cell_text(value: Any, kind: str, shown_as: str = "") -> str:
    """What a cell says as the reader of tables knows it. `kind`: openpyxl's data type.

    Raises ValueError for a formula, an error and a percentage: what they mean is not sure.
    """
    if value is None:
        return ""
    if kind == "f":
        raise ValueError("a formula; put its result there as a value")
    if kind == "e":
        raise ValueError("the error of a formula; put a value there")
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        if "%" in shown_as:
            raise ValueError("a percentage; type the plain number, as 84 for 84 %")
        return _number(value)
    if isinstance(value, datetime | date | time | timedelta):
        return _moment(value)
    return _ESCAPED.sub(lambda found: found[1] or chr(int(found[2], 16)), str(value))


def _number(value: int | float) -> str:
    """As one would type it, without an exponent."""
    return format(Decimal(format(value, f".{SIGNIFICANT_DIGITS}g")), "f")


def _moment(value: date | time | timedelta) -> str:
    """YYYY-MM-DD, HH:MM, or both where a cell holds both."""
    if isinstance(value, timedelta):
        if not timedelta() <= value < timedelta(days=1):
            raise ValueError("a length of time; write a time of day as HH:MM")
        value = datetime.min + value
    if isinstance(value, datetime) and value.year == 1:
        value = value.time()
    if isinstance(value, datetime) and value.time() == time():
        value = value.date()
    if isinstance(value, time):
        return value.strftime("%H:%M" if not value.second else "%H:%M:%S")
    return value.isoformat()


class _Huge(Exception):
    """A workbook that unpacks to more than it should."""


def _refuse_huge(path: Path) -> None:
    """Raise _Huge before anything is unpacked. No part can hold more than it says it does."""
    with ZipFile(path) as packed:
        if sum(part.file_size for part in packed.infolist()) > MAX_UNPACKED_BYTES:
            raise _Huge
