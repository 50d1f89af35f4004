"""One CSV file into parsed rows, with every fault of form named by its line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from optimiser.table_cells import CONTROL, SLUG, slug
from optimiser.table_faults import Findings
from optimiser.table_schema import Column, Schema

MAX_BYTES = 10_000_000
MAX_ROWS = 100_000


@dataclass
class Row:
    """One row: its line in the file, its count from 1, its cells as written and as read."""

    line: int
    count: int
    written: dict[str, str]
    values: dict[str, Any] = field(default_factory=dict)
    bad: set[str] = field(default_factory=set)

    def get(self, column: str, default: Any = None) -> Any:
        """The value of a cell; `default` where it is blank or faulty."""
        value = self.values.get(column)
        return default if value is None else value

    def is_blank(self, column: str) -> bool:
        """Whether the cell was left empty (a faulty one was not)."""
        return column not in self.bad and self.values.get(column) is None

    def has(self, *columns: str) -> bool:
        """Whether all these cells hold a good value."""
        return all(self.values.get(column) is not None for column in columns)


@dataclass
class Table:
    """The rows of one file. `complete` is False when rows may be missing from it,
    so that an id not found here may still be meant to exist."""

    schema: Schema
    findings: Findings
    rows: list[Row] = field(default_factory=list)
    complete: bool = True

    def fault(self, row: Row, column: str, message: str) -> None:
        """A fault of one cell, which counts as bad from now on."""
        row.bad.add(column)
        self.findings.fault(
            self.schema.file, row.line, column, row.written.get(column, ""), message
        )

    def ids(self) -> dict[str, Row]:
        """Rows by the first key column, faulty rows included."""
        first = self.schema.key[0]
        return {row.values[first]: row for row in reversed(self.rows) if row.has(first)}


class Source(Protocol):
    """Where a cafe's files come from: a folder, or a document in memory."""

    def holds(self, file: str) -> bool:
        """Whether this file is there."""

    def text(self, file: str, findings: Findings, max_bytes: int) -> str | None:
        """All of a file's text; None after a fault."""

    def records(self, table: Table) -> Iterator[tuple[int, list[str]]] | None:
        """(line, cells) of every record of a table that is not blank; None after a fault."""


@dataclass(frozen=True)
class Folder:
    """The files of a folder."""

    path: Path

    def holds(self, file: str) -> bool:
        """Whether this file is there."""
        return (self.path / file).exists()

    def text(self, file: str, findings: Findings, max_bytes: int) -> str | None:
        """All of a file's text; None after a fault."""
        return read_text(self.path / file, findings, max_bytes)

    def records(self, table: Table) -> Iterator[tuple[int, list[str]]] | None:
        """(first line, cells) of every record that is not blank; None after a fault."""
        text = read_text(self.path / table.schema.file, table.findings)
        return None if text is None else _records(text, table)


def read_table(source: Source, schema: Schema, findings: Findings) -> Table:
    """Read and parse one file of `source`; faults go to `findings`."""
    table = Table(schema, findings)
    if not source.holds(schema.file) and schema.may_be_missing:
        findings.note(f"{schema.file} is not there; read as empty")
        return table
    records = source.records(table)
    if records is None:
        table.complete = False
        return table
    header = next(records, None)
    if header is None or not any(cell.strip() for cell in header[1]):
        _whole_file(table, "", f"no header row; the first line must be {','.join(schema.names)}")
        return table
    names = _header(header[1], table)
    for line, cells in records:
        if len(table.rows) >= MAX_ROWS:
            _whole_file(table, "", f"more than {MAX_ROWS:,} rows; split the cafe or drop old rows")
            break
        _add_row(table, names, line, cells)
    if not table.rows and table.complete and not schema.may_be_empty:
        _whole_file(table, "", "no rows below the header; add at least one")
    _find_duplicates(table)
    return table


def read_text(path: Path, findings: Findings, max_bytes: int = MAX_BYTES) -> str | None:
    """The text of a file, without its byte-order mark; None after a fault."""
    if not path.is_file():
        findings.fault(path.name, None, None, "", "missing; add this file to the cafe folder")
        return None
    try:
        if path.stat().st_size > max_bytes:
            findings.fault(
                path.name, None, None, "", f"over {max_bytes / 1e6:g} MB; make it smaller"
            )
            return None
        content = path.read_bytes()
    except OSError as error:
        findings.fault(path.name, None, None, "", f"cannot be read: {error.strerror or error}")
        return None
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # utf-8-sig counts from after the mark, so the place is found without it.
        body = error.object
        start = body.rfind(b"\n", 0, error.start) + 1
        row = body.count(b"\n", 0, error.start) + 1
        findings.fault(
            path.name,
            row,
            f"byte {error.start - start + 1}",
            f"0x{body[error.start]:02x}",
            "not UTF-8 text; save the file again as CSV UTF-8"
            if path.suffix == ".csv"
            else "not UTF-8 text; save the file again as UTF-8",
        )
        return None


def _records(text: str, table: Table) -> Iterator[tuple[int, list[str]]]:
    """(first line, cells) of every record that is not blank, faults apart."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            table.complete = False
            table.findings.fault(
                table.schema.file,
                line,
                "quotes",
                '"',
                f"the row cannot be split into cells ({error}); double every quote inside a "
                "cell and close the last one",
            )
            continue
        if any(cell.strip() for cell in cells):
            yield line, cells


def _header(cells: list[str], table: Table) -> list[str]:
    """Column names in file order; faults for missing and repeated ones."""
    schema, findings = table.schema, table.findings
    names = [cell.strip().lower() for cell in cells]
    if len(names) == 1 and len(schema.columns) > 1:
        for separator, called in ((";", "semicolons"), ("\t", "tabs")):
            if separator in names[0]:
                _whole_file(table, "", f"cells are parted by {called}; save it with commas", 1)
                return names
    for place, name in enumerate(names):
        if name in schema.names and name in names[:place]:
            _whole_file(table, name, "this column is there twice; keep one", 1)
    strangers = [name for name in names if name and name not in schema.names]
    for column in schema.columns:
        if column.name not in names and not column.extra:
            hint = findings.nearest.hint(f"column {schema.file}", column.name, strangers)
            mend = hint.replace("did you mean", "is it the one called")
            _whole_file(table, column.name, f"this column is missing; add it{mend}", 1)
    return names


def _whole_file(table: Table, column: str, message: str, row: int | None = None) -> None:
    """A fault of the file; it hides ids unless it is of a column that holds none."""
    if column in ("", *table.schema.key[:1]):
        table.complete = False
    table.findings.fault(table.schema.file, row, column or None, column, message)


def _add_row(table: Table, names: list[str], line: int, cells: list[str]) -> None:
    """Parse one record into `table.rows`; one of wrong length keeps only its id."""
    row = Row(line, len(table.rows) + 1, {})
    table.rows.append(row)
    if len(cells) != len(names):
        row.bad.update(table.schema.names)
        first = table.schema.columns[0]
        ident = dict(zip(names, cells, strict=False)).get(first.name, "").strip()
        if first.parse is slug and SLUG.fullmatch(ident):
            row.values[first.name] = ident
        short = len(cells) < len(names)
        place = names[len(cells)] if short else f"cell {len(names) + 1}"
        mend = (
            "add the missing commas"
            if short
            else "take out the extra ones, or put a text with commas into quotes"
        )
        table.findings.fault(
            table.schema.file,
            line,
            place,
            "" if short else cells[len(names)],
            f"{len(cells)} cells where the header has {len(names)}; {mend}",
        )
        return
    row.written = dict(zip(names, (cell.strip() for cell in cells), strict=True))
    for column in table.schema.columns:
        _parse(table, row, column)


def _parse(table: Table, row: Row, column: Column) -> None:
    """Read one cell of `row`."""
    text = row.written.get(column.name)
    if text is None:
        if not column.extra:  # a fault of the header, told once
            row.bad.add(column.name)
        return
    if not text:
        if column.needed:
            table.fault(row, column.name, "must not be blank; fill it in")
        return
    if CONTROL.search(text):
        table.fault(row, column.name, "holds a control character; type the text again")
        return
    try:
        row.values[column.name] = column.parse(text)
    except ValueError as error:
        table.fault(row, column.name, str(error))


def _find_duplicates(table: Table) -> None:
    """Fault for every row whose key an earlier row has."""
    key = table.schema.key
    if not key:
        return
    seen: dict[tuple[Any, ...], int] = {}
    for row in table.rows:
        if not row.has(key[0]) or row.bad.intersection(key):
            continue
        value = tuple(row.values.get(column) for column in key)
        first = seen.setdefault(value, row.line)
        if first != row.line:
            table.fault(
                row, key[0], f"the same {', '.join(key)} as in row {first}; keep one of them"
            )
