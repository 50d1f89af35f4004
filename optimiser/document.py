"""A cafe's tables as cells of text in memory: what a store keeps and a workbook carries.

Nothing is lost: columns of one's own, the order of rows and columns, spaces around a
cell, and cafe.toml as it was typed.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optimiser.table_faults import Findings, TableFaults
from optimiser.table_rows import MAX_BYTES, Table, read_text
from optimiser.table_schema import FILE_ORDER, SETTINGS_FILE, TABLES
from optimiser.tables import Reading, read_folder, read_tables

Records = tuple[tuple[str, ...], ...]
"""The records of a table, header first, blank ones too."""

FORM = 1
"""Of the text that `Document.to_text` writes."""

_QUOTED = re.compile(r'[,"\r\n]')


@dataclass(frozen=True)
class Document:
    """`settings` is the text of cafe.toml; `tables` maps file names to records. Files that
    are not there have no entry (`settings`: None)."""

    settings: str | None
    tables: Mapping[str, Records]

    def to_text(self) -> str:
        """The document as JSON in ASCII, the same text for the same document."""
        tables = {one.file: self.tables[one.file] for one in TABLES if one.file in self.tables}
        return json.dumps(
            {"form": FORM, SETTINGS_FILE: self.settings, "tables": tables},
            separators=(",", ":"),
        )

    @classmethod
    def from_text(cls, text: str) -> Document:
        """Read what `to_text` wrote. Raises ValueError."""
        body = json.loads(text)
        if not isinstance(body, dict) or body.get("form") != FORM:
            raise ValueError(f"not a document of form {FORM}")
        settings, tables = body.get(SETTINGS_FILE), body.get("tables")
        known = {one.file for one in TABLES}
        if not isinstance(settings, str) or not isinstance(tables, dict) or tables.keys() - known:
            raise ValueError("not the tables of a cafe")
        return cls(settings, {file: _records(rows) for file, rows in tables.items()})


def _records(rows: Any) -> Records:
    """Rows of cells out of JSON. Raises ValueError."""
    if not isinstance(rows, list):
        raise ValueError("a table that is no list of rows")
    for row in rows:
        if not isinstance(row, list) or not all(isinstance(cell, str) for cell in row):
            raise ValueError("a row that is no list of texts")
    return tuple(tuple(row) for row in rows)


def checksum(text: str) -> str:
    """SHA-256 of a document's text, as hexadecimal digits."""
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def read_document(document: Document) -> Reading:
    """The cafe in a document. Raises TableFaults; `row` of a fault counts records from 1."""
    return read_tables(_Memory(document))


def folder_document(folder: Path) -> Document:
    """The cells of a cafe folder as they stand. Raises TableFaults if it has a fault."""
    read_folder(folder)
    findings = Findings()
    texts = {
        file: read_text(folder / file, findings) for file in FILE_ORDER if (folder / file).exists()
    }
    findings.raise_if_any(FILE_ORDER)
    settings = texts.pop(SETTINGS_FILE, None)
    return Document(settings, {file: parse_csv(text or "") for file, text in texts.items()})


def parse_csv(text: str) -> Records:
    """The records of a CSV text, read as the folder's reader does."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    return tuple(tuple(cells) for cells in reader)


def csv_text(records: Iterable[Iterable[str]]) -> str:
    """The CSV text of records, `parse_csv` reading exactly these again.

    Python's own writer leaves a lone carriage return unquoted in some versions.
    """
    return "".join(_line(tuple(cells)) for cells in records)


def _line(cells: tuple[str, ...]) -> str:
    if cells == ("",):
        return '""\n'  # an empty line would be a record without cells
    return ",".join(_quoted(cell) for cell in cells) + "\n"


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if _QUOTED.search(cell) else cell


def encoded(text: str) -> bytes:
    """`text` in UTF-8, so that reading it back leaves a leading byte-order mark alone."""
    return text.encode("utf-8-sig" if text.startswith("\ufeff") else "utf-8")


@dataclass(frozen=True)
class _Memory:
    """A document as the place where a cafe's files come from."""

    document: Document

    def holds(self, file: str) -> bool:
        """Whether this table is there."""
        return file in self.document.tables

    def text(self, file: str, findings: Findings, max_bytes: int) -> str | None:
        """The settings; None after a fault. They are the only file read as a whole."""
        settings = self.document.settings
        if settings is None:
            _missing(file, findings)
            return None
        return settings if _fits(file, settings, findings, max_bytes) else None

    def records(self, table: Table) -> Iterator[tuple[int, list[str]]] | None:
        """(count, cells) of every record that is not blank; None after a fault."""
        file = table.schema.file
        records = self.document.tables.get(file)
        if records is None:
            _missing(file, table.findings)
            return None
        faults = len(table.findings.faults)
        _fits(file, csv_text(records), table.findings, MAX_BYTES)
        _cells_fit(file, records, table.findings)
        if len(table.findings.faults) > faults:
            return None
        return (
            (count, list(cells))
            for count, cells in enumerate(records, 1)
            if any(cell.strip() for cell in cells)
        )


def _missing(file: str, findings: Findings) -> None:
    findings.fault(file, None, None, "", "missing; add this table")


def _fits(file: str, text: str, findings: Findings, max_bytes: int) -> bool:
    """Whether a text could be read back from a file; a fault if not."""
    try:
        size = len(encoded(text))
    except UnicodeEncodeError as error:
        bad = text[error.start]
        findings.fault(file, None, None, bad, "half of a character; type the text again")
        return False
    if size > max_bytes:
        findings.fault(file, None, None, "", f"over {max_bytes / 1e6:g} MB; make it smaller")
    return size <= max_bytes


def _cells_fit(file: str, records: Records, findings: Findings) -> None:
    """A fault for each cell that the reader of CSV would turn down for its length."""
    longest = csv.field_size_limit()
    for count, cells in enumerate(records, 1):
        for place, cell in enumerate(cells, 1):
            if len(cell) > longest:
                message = f"longer than {longest:,} characters; shorten it"
                findings.fault(file, count, f"cell {place}", cell, message)


def faults_of(document: Document) -> TableFaults | None:
    """Every fault of a document, or None."""
    try:
        read_document(document)
    except TableFaults as found:
        return found
    return None
