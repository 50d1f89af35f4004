"""A counted list that somebody hands in (CSV or workbook) as the new stock.csv."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from optimiser.book import read_sheet
from optimiser.document import Document, Records, faults_of, folder_document
from optimiser.document_edits import with_rules
from optimiser.folder_out import write_folder
from optimiser.larder_count import lots_between, lots_moved, stock_of
from optimiser.rules.base import Rule
from optimiser.rules.stock import UseUp
from optimiser.table_faults import Fault, TableFaults
from optimiser.table_schema import FILE_ORDER, STOCK
from optimiser.tables import Reading

MAX_LIST_BYTES = 2_000_000
"""Of a counted list; tens of thousands of lots fit."""

KINDS = ("csv", "xlsx")


@dataclass(frozen=True)
class NewStock:
    """Tables with another stock.csv. `dropped`: rules that went with their lot."""

    document: Document
    dropped: tuple[UseUp, ...] = ()


def with_stock(
    document: Document, reading: Reading, records: Records, names: Mapping[str, str]
) -> NewStock:
    """The tables with another stock.csv, and the rules about lots moved along: `names` has the
    new name of each lot that is still there, by its old one."""
    on, off = (lots_moved(rules, names) for rules in (reading.rules, reading.rules_off))
    changed = replace(document, tables={**document.tables, STOCK.file: records})
    if (on, off) != (tuple(reading.rules), tuple(reading.rules_off)):
        changed = with_rules(changed, on, off)
    return NewStock(changed, _dropped((*reading.rules, *reading.rules_off), names))


def _dropped(rules: tuple[Rule, ...], names: Mapping[str, str]) -> tuple[UseUp, ...]:
    return tuple(
        rule for rule in rules if isinstance(rule, UseUp) and rule.lot not in (None, *names)
    )


def read_list(name: str, raw: bytes, document: Document, reading: Reading) -> NewStock:
    """The tables with the counted list in a file put in. Raises TableFaults: every fault."""
    if len(raw) > MAX_LIST_BYTES:
        most = f"over {MAX_LIST_BYTES / 1e6:g} MB; hand in the stock table only"
        raise TableFaults([Fault(name, None, None, "", most)])
    # Rules about single lots say nothing of the list; they are moved along when it is sound.
    bare = with_stock(document, reading, stock_of(document), {}).document
    with tempfile.TemporaryDirectory() as folder:
        if name.lower().endswith(".xlsx"):
            records = _from_book(Path(folder) / "list.xlsx", raw, bare)
        else:
            records = _from_csv(Path(folder) / "cafe", raw, bare)
    return with_stock(document, reading, records, lots_between(stock_of(document), records))


def _from_csv(folder: Path, raw: bytes, bare: Document) -> Records:
    """Read as a cafe's folder is, with this file as its stock.csv."""
    write_folder(bare, folder)
    (folder / STOCK.file).write_bytes(raw)
    return stock_of(folder_document(folder))


def _from_book(path: Path, raw: bytes, bare: Document) -> Records:
    path.write_bytes(raw)
    records, of_cells = read_sheet(path, STOCK.file)
    told = {(fault.row, fault.column) for fault in of_cells}
    inside = faults_of(replace(bare, tables={**bare.tables, STOCK.file: records}))
    of_table = [] if inside is None else inside.faults
    faults = [*of_cells, *(one for one in of_table if (one.row, one.column) not in told)]
    if faults:
        order = {file: place for place, file in enumerate(FILE_ORDER)}
        raise TableFaults(sorted(faults, key=lambda one: (order.get(one.file, -1), one.row or 0)))
    return records
