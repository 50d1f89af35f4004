"""What differs between two documents, cell by cell, as sentences."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from optimiser.document import Document, Records
from optimiser.settings_values import text_of
from optimiser.table_faults import shown
from optimiser.table_schema import SETTINGS_FILE, TABLES, Schema

NAMED_BY = {
    "recipe_lines.csv": ("dish", "item"),
    "stock.csv": ("item", "state", "use_by"),
}
"""What tells rows apart where the key is too long, or there is none; else the key does.
Rows of one name are told apart by their order."""

Name = tuple[tuple[str, ...], int]
"""What names a row, and which of the rows so named it is."""

KEY_PARTS = 5

RULE_LISTS = {"rule": "rules", "rule switched off": "rules_off"}
"""What a rule of each list in cafe.toml is called."""


@dataclass(frozen=True)
class Change:
    """One difference. `what`: the row, column or setting; before or after is None where
    that side has none. `note`: the rest of the sentence where there are no two values."""

    file: str
    what: str
    before: str | None = None
    after: str | None = None
    note: str = ""

    def __str__(self) -> str:
        """One sentence."""
        if self.note:
            said = self.note
        elif self.before is None:
            said = f"is now {shown(self.after or '')}"
        elif self.after is None:
            said = f"was {shown(self.before)}, is no longer set"
        else:
            said = f"was {shown(self.before)}, is now {shown(self.after)}"
        return f"{self.file}: {self.what} {said}."


def changes(old: Document, new: Document) -> list[Change]:
    """Every difference, by file; none only if the documents are the same."""
    found = _settings(old.settings or "", new.settings or "")
    for schema in TABLES:
        found += _table(schema, old.tables.get(schema.file), new.tables.get(schema.file))
    return found


def _table(schema: Schema, old: Records | None, new: Records | None) -> list[Change]:
    if old == new:
        return []
    if old is None or new is None:
        rows = len(old or new or ()) - 1
        note = f"is {'new' if old is None else 'gone'}, with {max(0, rows)} rows"
        return [Change(schema.file, "the table", note=note)]
    before, after = _Rows(schema, old), _Rows(schema, new)
    found = [*_columns(schema.file, before, after), *_rows(schema.file, before, after)]
    if not found:
        note = "differ in spaces, blank rows or the order of columns only"
        found = [Change(schema.file, "the two versions", note=note)]
    return found


class _Rows:
    """The rows of a table by name, and its columns; blank rows left out."""

    def __init__(self, schema: Schema, records: Records) -> None:
        rows = [
            [cell.strip() for cell in cells]
            for cells in records
            if any(cell.strip() for cell in cells)
        ]
        self.columns = _numbered(cell.lower() for cell in rows[0]) if rows else []
        self.by_name: dict[Name, dict[str, str]] = {}
        named_by = NAMED_BY.get(schema.file, schema.key)
        seen: Counter[tuple[str, ...]] = Counter()
        for cells in rows[1:]:
            row = dict(zip(self.columns, cells, strict=False))
            name = tuple(row.get(column, "") for column in named_by)
            seen[name] += 1
            self.by_name[(name, seen[name])] = row


def _numbered(names: Iterable[str]) -> list[str]:
    """Column names, repeated ones numbered: `note`, `note (2)`."""
    seen: Counter[str] = Counter()
    found = []
    for name in names:
        seen[name] += 1
        found.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return found


def _columns(file: str, before: _Rows, after: _Rows) -> list[Change]:
    gone = [column for column in before.columns if column not in after.columns]
    new = [column for column in after.columns if column not in before.columns]
    return [
        *(Change(file, f"the column {shown(one)}", note="is gone") for one in gone),
        *(Change(file, f"the column {shown(one)}", note="is new") for one in new),
    ]


def _rows(file: str, before: _Rows, after: _Rows) -> list[Change]:
    old, new = before.by_name, after.by_name
    found = [
        Change(file, f"the row {_called(name)}", note="is gone") for name in old if name not in new
    ]
    columns = [column for column in after.columns if column in before.columns]
    for name, row in new.items():
        if name not in old:
            found.append(Change(file, f"the row {_called(name)}", note="is new"))
            continue
        for column in columns:
            was, now = old[name].get(column, ""), row.get(column, "")
            if was != now:
                found.append(Change(file, f"{shown(column)} of {_called(name)}", was, now))
    if [name for name in old if name in new] != [name for name in new if name in old]:
        found.append(Change(file, "the rows", note="stand in another order"))
    return found


def _called(name: Name) -> str:
    """A row in words: what is not blank of its name; `(2)` for the second of that name."""
    parts, count = name
    said = ", ".join(shown(part) for part in parts[:KEY_PARTS] if part) or "without a name"
    return said if count == 1 else f"{said} ({count})"


def _settings(old: str, new: str) -> list[Change]:
    if old == new:
        return []
    before, after = _values(old), _values(new)
    found = [
        Change(SETTINGS_FILE, shown(key), before.get(key), after.get(key))
        for key in dict.fromkeys([*before, *after])
        if before.get(key) != after.get(key)
    ]
    if not found:
        note = "differ in comments, spaces or order only"
        found = [Change(SETTINGS_FILE, "the two versions", note=note)]
    return found


def _values(text: str) -> dict[str, str]:
    """Dotted key -> value as text. Rules are named by their kind, the second of a kind
    `rule bar (2)`, so that a rule put before others does not change their names."""
    raw = tomllib.loads(text, parse_float=Decimal)
    rules = {word: raw.pop(key, []) for word, key in RULE_LISTS.items()}
    found = dict(_flat("", raw))
    for word, ones in rules.items():
        names = _numbered(f"{word} {rule.get('kind', '')}" for rule in ones)
        for name, rule in zip(names, ones, strict=True):
            found.update(_flat(name, rule))
    return found


def _flat(place: str, value: Any) -> Iterable[tuple[str, str]]:
    if isinstance(value, Mapping) and value:
        for key, part in value.items():
            yield from _flat(f"{place}.{key}" if place else key, part)
    elif isinstance(value, list):
        yield place, "; ".join(text_of(part) for part in value)
    else:
        yield place, text_of(value)
