"""Changes to the tables of a cafe as pure functions, Document -> Document.

What a change does not speak of stays as it was typed: columns of one's own, blank rows,
spaces, and the comments of cafe.toml. Nothing is checked here; reading the document does.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import tomlkit

from optimiser.document import Document, Records
from optimiser.rule_blocks import OFF, ON, toml_value, with_rules_as
from optimiser.rules import Rule
from optimiser.table_schema import TABLES

Record = tuple[str, ...]


class TableRow(dict[str, str]):
    """A row's cells by column, without spaces around them. `line` counts the table's
    records, the header being 1, as faults do; None for a row that is new."""

    def __init__(self, cells: Mapping[str, str], line: int | None = None) -> None:
        super().__init__(cells)
        self.line = line


def rows_of(document: Document, file: str) -> list[TableRow]:
    """The rows of a table that are not blank; none where the file is missing."""
    sheet = _Sheet.of(document, file)
    return [TableRow(sheet.cells(record), line) for line, record in sheet.rows.items()]


def with_rows(document: Document, file: str, rows: Iterable[Mapping[str, str]]) -> Document:
    """All rows replaced. A `TableRow` keeps the cells that it does not name; the blank
    records that followed it stay with it."""
    sheet = _Sheet.of(document, file)
    sheet.make_room(rows := list(rows))
    body: list[Record] = []
    for row in rows:
        line = getattr(row, "line", None)
        body.append(sheet.record(row, line))
        body += sheet.blank_after.get(line or 0, [])
    return _with_table(document, file, (*sheet.top, *body))


def with_cell(document: Document, file: str, line: int, column: str, value: str) -> Document:
    """One cell changed. Raises KeyError if there is no such row."""
    rows = rows_of(document, file)
    row = next((row for row in rows if row.line == line), None)
    if row is None:
        raise KeyError(f"{file} has no row {line}")
    row[column] = value
    return with_rows(document, file, rows)


def add_row(document: Document, file: str, row: Mapping[str, str]) -> Document:
    """A row more, at the end."""
    return with_rows(document, file, [*rows_of(document, file), TableRow(row)])


def without_row(document: Document, file: str, line: int) -> Document:
    """One row less. Raises KeyError if there is no such row."""
    rows = rows_of(document, file)
    kept = [row for row in rows if row.line != line]
    if len(kept) == len(rows):
        raise KeyError(f"{file} has no row {line}")
    return with_rows(document, file, kept)


def with_rules(
    document: Document, rules: Sequence[Rule], off: Sequence[Rule] | None = None
) -> Document:
    """Exactly these rules in cafe.toml, in this order; `off`: those switched off (None:
    as they are). A rule that changes keeps its comments."""
    wanted: dict[str, Sequence[Rule]] = {ON: rules} if off is None else {ON: rules, OFF: off}
    return replace(document, settings=with_rules_as(document.settings or "", wanted))


def with_settings(document: Document, settings: Mapping[str, Any]) -> Document:
    """Keys of cafe.toml by dotted path, `{"courses.salad.slots": 5}`; None takes a key out."""
    toml = tomlkit.parse(document.settings or "")
    for path, value in settings.items():
        *above, last = path.split(".")
        table: Any = toml
        for name in above:
            if value is None and name not in table:
                break
            if not isinstance(table.get(name), Mapping):
                table[name] = tomlkit.table()
            table = table[name]
        else:
            _put(table, last, value)
    text = tomlkit.dumps(toml)
    tomllib.loads(text)
    return replace(document, settings=text)


def _put(table: Any, key: str, value: Any) -> None:
    if value is None:
        table.pop(key, None)
    elif table.get(key) != value:
        table[key] = toml_value(value)


def _with_table(document: Document, file: str, records: Records) -> Document:
    return replace(document, tables={**document.tables, file: records})


# -- records ----------------------------------------------------------------


@dataclass
class _Sheet:
    """A table taken apart. `top`: all records up to the first row; `rows` and
    `blank_after`: by line."""

    file: str
    top: list[Record]
    header: int
    rows: dict[int, Record]
    blank_after: dict[int, list[Record]]

    @classmethod
    def of(cls, document: Document, file: str) -> _Sheet:
        """The table as it stands; one that is missing gets the header that it needs."""
        records = document.tables.get(file, ())
        first = next((place for place, one in enumerate(records) if _filled(one)), None)
        if first is None:
            schema = next(one for one in TABLES if one.file == file)
            header = tuple(column.name for column in schema.columns if not column.extra)
            return cls(file, [*records, header], len(records), {}, {})
        sheet = cls(file, list(records[: first + 1]), first, {}, {})
        line = 0
        for number, record in enumerate(records[first + 1 :], first + 2):
            if _filled(record):
                line = number
                sheet.rows[line] = record
            else:
                (sheet.blank_after.setdefault(line, []) if line else sheet.top).append(record)
        return sheet

    @property
    def names(self) -> list[str]:
        """Columns as a row knows them; repeated names are numbered: `note`, `note (2)`."""
        names: list[str] = []
        for cell in self.top[self.header]:
            name = base = cell.strip().lower()
            count = 1
            while name in names:
                count += 1
                name = f"{base} ({count})"
            names.append(name)
        return names

    def cells(self, record: Record) -> dict[str, str]:
        """A record's cells by column."""
        padded = (*record, *("" for _ in self.names))
        return {name: cell.strip() for name, cell in zip(self.names, padded, strict=False)}

    def make_room(self, rows: Iterable[Mapping[str, str]]) -> None:
        """Add the optional columns that rows fill. Raises ValueError for unknown ones."""
        known = next(one for one in TABLES if one.file == self.file).names
        for name in dict.fromkeys(name for row in rows for name, cell in row.items() if cell):
            if name in self.names:
                continue
            if name not in known:
                raise ValueError(f"{self.file} has no column {name!r}")
            width = len(self.top[self.header])
            self.top[self.header] += (name,)
            for line, record in self.rows.items():
                padded = record + ("",) * (width - len(record))
                self.rows[line] = (*padded[:width], "", *padded[width:])

    def record(self, row: Mapping[str, str], line: int | None) -> Record:
        """A row as cells; those it leaves alone as they were typed."""
        if line not in self.rows:
            return tuple(row.get(name, "") for name in self.names)
        cells = list(self.rows[line])
        for place, name in enumerate(self.names):
            typed = cells[place].strip() if place < len(cells) else ""
            if row.get(name, typed) != typed:
                cells += [""] * (place + 1 - len(cells))
                cells[place] = row[name]
        return tuple(cells)


def _filled(record: Record) -> bool:
    return any(cell.strip() for cell in record)
