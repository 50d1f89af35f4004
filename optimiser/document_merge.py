"""Two edits of the same tables put together, unless they touch the same cells."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from optimiser.document import Document, read_document
from optimiser.document_changes import NAMED_BY, RULE_LISTS
from optimiser.document_edits import TableRow, rows_of, with_rows, with_rules, with_settings
from optimiser.rules import Rule
from optimiser.table_faults import shown
from optimiser.table_schema import SETTINGS_FILE, TABLES, Schema

Name = tuple[tuple[str, ...], int]
"""What names a row, and which of the rows so named it is."""

Rules = Sequence[Rule]


@dataclass(frozen=True)
class Merged:
    """`document`: both edits; `clashes`: what both changed, which then stands as in theirs."""

    document: Document
    clashes: tuple[str, ...]


def merge(base: Document, mine: Document, theirs: Document) -> Merged:
    """What `mine` changed of `base`, on top of `theirs`. All three can be read as a cafe."""
    document, clashes = _settings(base, mine, theirs)
    for schema in TABLES:
        document, more = _table(schema, base, mine, document)
        clashes += more
    return Merged(document, tuple(clashes))


# -- settings ---------------------------------------------------------------


def _settings(base: Document, mine: Document, theirs: Document) -> tuple[Document, list[str]]:
    if mine.settings == base.settings:
        return theirs, []
    if theirs.settings == base.settings:
        return Document(mine.settings, theirs.tables), []
    old, own, new = (_values(one.settings) for one in (base, mine, theirs))
    changed = [key for key in {**old, **own} if old.get(key) != own.get(key)]
    free = [key for key in changed if new.get(key) in (old.get(key), own.get(key))]
    clashes = [f"{SETTINGS_FILE}: {shown(key)}" for key in changed if key not in free]
    document = with_settings(theirs, {key: own.get(key) for key in free})
    before, asked, now = (_rules(one) for one in (base, mine, theirs))
    on, said = _rules_together(before[0], asked[0], now[0])
    off, more = _rules_together(before[1], asked[1], now[1])
    return with_rules(document, on, off), [*clashes, *said, *more]


def _values(text: str | None) -> dict[str, Any]:
    """Dotted key -> value, rules left out."""
    raw = tomllib.loads(text or "")
    for key in RULE_LISTS.values():
        raw.pop(key, None)
    return dict(_flat("", raw))


def _flat(place: str, value: Any) -> Iterable[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for key, part in value.items():
            yield from _flat(f"{place}.{key}" if place else key, part)
    else:
        yield place, value


def _rules(document: Document) -> tuple[Rules, Rules]:
    reading = read_document(document)
    return reading.rules, reading.rules_off


def _rules_together(base: Rules, mine: Rules, theirs: Rules) -> tuple[list[Rule], list[str]]:
    """A rule changed is one gone and one new; gone in both, with different new ones: a clash."""
    gone, new = _without(base, mine), _without(mine, base)
    their_gone, their_new = _without(base, theirs), _without(theirs, base)
    both = [rule for rule in gone if rule in their_gone]
    kinds = {rule.kind for rule in both}
    differ = [rule for rule in new if rule.kind in kinds] != [
        rule for rule in their_new if rule.kind in kinds
    ]
    if both and differ:
        return list(theirs), [f"{SETTINGS_FILE}: the rule {rule.title!r}" for rule in both]
    return [*_without(theirs, gone), *_without(new, their_new)], []


def _without(rules: Rules, gone: Rules) -> list[Rule]:
    """`rules` less those of `gone`, each as often as it occurs there."""
    left, kept = list(gone), []
    for rule in rules:
        if rule in left:
            left.remove(rule)
        else:
            kept.append(rule)
    return kept


# -- tables -----------------------------------------------------------------


def _table(
    schema: Schema, base: Document, mine: Document, theirs: Document
) -> tuple[Document, list[str]]:
    file = schema.file
    old, own, new = (one.tables.get(file) for one in (base, mine, theirs))
    if own in (old, new):
        return theirs, []
    if new == old:
        tables = {key: rows for key, rows in theirs.tables.items() if key != file}
        return Document(theirs.settings, tables | ({} if own is None else {file: own})), []
    if old is None or own is None or new is None or not old[0] == own[0] == new[0]:
        return theirs, [f"{file}: its columns"]
    rows, clashes = _rows_together(*(_named(schema, one) for one in (base, mine, theirs)))
    return with_rows(theirs, file, rows), [f"{file}: {clash}" for clash in clashes]


def _named(schema: Schema, document: Document) -> dict[Name, TableRow]:
    seen: Counter[tuple[str, ...]] = Counter()
    found = {}
    for row in rows_of(document, schema.file):
        name = tuple(row.get(column, "") for column in NAMED_BY.get(schema.file, schema.key))
        seen[name] += 1
        found[name, seen[name]] = row
    return found


def _rows_together(
    base: Mapping[Name, TableRow], mine: Mapping[Name, TableRow], theirs: Mapping[Name, TableRow]
) -> tuple[list[TableRow], list[str]]:
    """Their rows with my changes; mine that are new at the end."""
    rows: list[TableRow] = []
    clashes: list[str] = []
    for name, row in theirs.items():
        old, own = base.get(name), mine.get(name)
        if own is None and old is not None:
            if row != old:
                clashes.append(_called(name))
                rows.append(row)
        elif own is None or own == row:
            rows.append(row)
        else:
            merged, columns = _cells(old or {}, own, row)
            clashes += [f"{column} of {_called(name)}" for column in columns]
            rows.append(merged)
    for name, row in mine.items():
        if name not in theirs and name not in base:
            rows.append(TableRow(row))
        elif name not in theirs and row != base[name]:
            clashes.append(_called(name))
    return rows, clashes


def _cells(
    old: Mapping[str, str], own: Mapping[str, str], row: TableRow
) -> tuple[TableRow, list[str]]:
    """One row with the cells of both, and the columns that both changed."""
    merged, clashes = TableRow(row, row.line), []
    for column, cell in own.items():
        if cell in (old.get(column), row.get(column)):
            continue
        if row.get(column) == old.get(column):
            merged[column] = cell
        else:
            clashes.append(column)
    return merged, clashes


def _called(name: Name) -> str:
    return ", ".join(shown(part) for part in name[0] if part) or "a row without a name"
