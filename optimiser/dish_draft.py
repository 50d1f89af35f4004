"""A dish or an ingredient while it is edited: its row and the rows that belong to it.

A draft is cells of text, as typed; it becomes tables with `with_draft`, and the reader of
the tables says what is wrong with it. Nothing here changes a document that it is given.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from optimiser.cafe import Cafe
from optimiser.document import Document, faults_of, read_document
from optimiser.document_edits import TableRow, rows_of, with_rows
from optimiser.rules.base import Rule
from optimiser.table_faults import Fault, TableFaults
from optimiser.tables import Reading

DISH_FILE, INGREDIENT_FILE = "dishes.csv", "ingredients.csv"
LINES, STEPS, OFFERS = "recipe_lines.csv", "steps.csv", "offers.csv"

KEY = {DISH_FILE: "dish", INGREDIENT_FILE: "ingredient"}
PARTS = {DISH_FILE: (LINES, STEPS), INGREDIENT_FILE: (OFFERS,)}
"""The files whose rows belong to a thing, and go with it."""

LONGEST_ID = 64


@dataclass(frozen=True)
class Draft:
    """`file`: of the thing's own row; `ident`: its id; `parts`: its rows by file; `extra`:
    new things that come with it, such as an ingredient that its recipe needs."""

    file: str
    ident: str
    facts: Mapping[str, str]
    parts: Mapping[str, tuple[Mapping[str, str], ...]] = field(default_factory=dict)
    extra: tuple[Draft, ...] = ()


def draft_of(document: Document, file: str, ident: str) -> Draft:
    """The thing as it is in the tables. KeyError if it is not there."""
    key = KEY[file]
    facts = next((row for row in rows_of(document, file) if row[key] == ident), None)
    if facts is None:
        raise KeyError(f"{file} has no {ident}")
    parts = {
        part: tuple(row for row in rows_of(document, part) if row.get(key) == ident)
        for part in PARTS[file]
    }
    return Draft(file, ident, facts, parts)


def new_ingredient(ident: str, name: str, form: str) -> Draft:
    """An ingredient of which only this is known; its allergens are unknown (blank)."""
    facts = {"ingredient": ident, "name": name, "form": form, "allergens": ""}
    return Draft(INGREDIENT_FILE, ident, facts, {OFFERS: ()})


def new_dish(ident: str, name: str, course: str, portions: int) -> Draft:
    """A dish without a recipe; it can be saved once it has a line."""
    facts = {"dish": ident, "name": name, "course": course, "portions": str(portions)}
    return Draft(DISH_FILE, ident, facts, {LINES: (), STEPS: ()})


def copied(draft: Draft, ident: str, name: str) -> Draft:
    """A new thing with the same facts and rows."""
    key = KEY[draft.file]
    facts = dict(draft.facts) | {key: ident, "name": name}
    parts = {
        file: tuple(dict(row) | {key: ident} for row in rows) for file, rows in draft.parts.items()
    }
    return Draft(draft.file, ident, facts, parts)


def with_lines_added(draft: Draft, cells: Iterable[Mapping[str, str]]) -> Draft:
    """The dish with recipe lines more."""
    return replace(draft, parts={**draft.parts, LINES: (*draft.parts[LINES], *cells)})


def with_draft(document: Document, draft: Draft) -> Document:
    """The tables with the thing as drafted: its rows stay where they were, new ones follow."""
    for one in draft.extra:
        document = with_draft(document, one)
    key = KEY[draft.file]
    document = _replaced(document, draft.file, key, draft.ident, [draft.facts])
    for file in PARTS[draft.file]:
        document = _replaced(document, file, key, draft.ident, draft.parts.get(file, ()))
    return document


def without(document: Document, file: str, ident: str) -> Document:
    """The tables without the thing and the rows that belong to it."""
    key = KEY[file]
    for one in (file, *PARTS[file]):
        document = _replaced(document, one, key, ident, ())
    return document


def _replaced(
    document: Document, file: str, key: str, ident: str, rows: Iterable[Mapping[str, str]]
) -> Document:
    """The rows of `ident` replaced, at the place of its first row or at the end.

    A table that would change in nothing is left alone, also where it is missing.
    """
    old = rows_of(document, file)
    place = next((n for n, row in enumerate(old) if row.get(key) == ident), len(old))
    mine = [_row(row, key, ident) for row in rows]
    rest = [row for row in old if row.get(key) != ident]
    if mine == [row for row in old if row.get(key) == ident]:
        return document
    return with_rows(document, file, [*rest[:place], *mine, *rest[place:]])


def _row(row: Mapping[str, str], key: str, ident: str) -> TableRow:
    return TableRow({**row, key: ident}, getattr(row, "line", None))


# -- faults in their place


@dataclass(frozen=True)
class Checked:
    """A draft read as tables. `reading`: None while there are faults; `faults` by
    (file, row of the draft from 0), those that lie elsewhere at ("", 0)."""

    document: Document
    reading: Reading | None
    faults: Mapping[tuple[str, int], list[Fault]]


def checked(document: Document, draft: Draft) -> Checked:
    """The tables with a draft in them, read as a whole."""
    drafted = with_draft(document, draft)
    try:
        return Checked(drafted, read_document(drafted), {})
    except TableFaults as found:
        places: dict[tuple[str, int], list[Fault]] = {}
        for fault in found.faults:
            places.setdefault(_place(drafted, draft, fault), []).append(fault)
        return Checked(drafted, None, places)


def _place(drafted: Document, draft: Draft, fault: Fault) -> tuple[str, int]:
    if fault.file in (draft.file, *PARTS[draft.file]) and fault.row is not None:
        key = KEY[draft.file]
        mine = [row.line for row in rows_of(drafted, fault.file) if row.get(key) == draft.ident]
        if fault.row in mine:
            return fault.file, mine.index(fault.row)
    return "", 0


# -- new ids, and what still needs a thing


def new_id(name: str, taken: Collection[str]) -> str:
    """An id made of a name: `Crème of beans!` becomes `creme_of_beans`, a second one `_2`."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    base = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[: LONGEST_ID - 4] or "new"
    ident, count = base, 1
    while ident in taken:
        count += 1
        ident = f"{base}_{count}"
    return ident


def why_it_stays(document: Document, cafe: Cafe, rules: Iterable[Rule], draft: Draft) -> list[str]:
    """What still needs a dish or an ingredient, in words; nothing if it can be taken out."""
    ident = draft.ident
    users = [
        dish.name
        for dish in cafe.dishes.values()
        if dish.id != ident and any(line.item == ident for line in dish.lines)
    ]
    reasons = [f"{name} has it in its recipe" for name in users]
    reasons += [
        f"{lot.qty:g} {lot.unit} of it are in stock" for lot in cafe.stock if lot.item == ident
    ]
    reasons += [f"the rule: {rule.describe(cafe)}" for rule in rules if mentions(rule, ident)]
    days = len({served.day for served in cafe.history if served.dish == ident})
    if days:
        reasons.append(f"sales of {days} day{'' if days == 1 else 's'} are kept of it")
    faults = faults_of(without(document, draft.file, ident))
    if faults and not reasons:
        reasons = [str(fault) for fault in faults.faults]
    return reasons


def mentions(rule: Rule, ident: str) -> bool:
    """Whether an id stands anywhere in a rule's parameters."""
    return _holds(rule.model_dump(exclude={"kind"}), ident)


def _holds(value: Any, ident: str) -> bool:
    if isinstance(value, Mapping):
        return any(_holds(part, ident) for part in (*value.keys(), *value.values()))
    if isinstance(value, list | tuple | set | frozenset):
        return any(_holds(part, ident) for part in value)
    return bool(value == ident)
