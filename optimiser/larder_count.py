"""A stock count in the making: what has been counted, kept apart until it is saved at once.

Rules name a lot by its row in stock.csv (`stock-7`). Whatever takes rows out or puts
others in must therefore move those names along: `lots_moved`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation

from optimiser.document import Document, Records
from optimiser.rules.base import Rule
from optimiser.rules.stock import UseUp
from optimiser.table_schema import STOCK

NAMED_BY = ("item", "state", "use_by")
"""What tells lots apart when their amount has changed."""

Row = dict[str, str]


def stock_rows(records: Records) -> dict[int, Row]:
    """Rows of stock.csv by their line, the header being the first that is not blank."""
    filled = [(line, cells) for line, cells in enumerate(records, 1) if any(map(str.strip, cells))]
    if not filled:
        return {}
    names = [name.strip().lower() for name in filled[0][1]]
    return {
        line: dict(zip(names, (cell.strip() for cell in cells), strict=False))
        for line, cells in filled[1:]
    }


def lot_lines(records: Records) -> dict[str, int]:
    """The line of each lot by its name, `stock-1` being the first row."""
    return {f"stock-{count}": line for count, line in enumerate(stock_rows(records), 1)}


def stock_of(document: Document) -> Records:
    """The records of stock.csv."""
    return document.tables.get(STOCK.file, ())


@dataclass(frozen=True)
class Draft:
    """A count begun on `rows`, the records of stock.csv at that time. `counts`: by line, the
    quantity found, in the unit of its row; `0` is none left."""

    rows: Records
    counts: Mapping[int, str] = field(default_factory=dict)

    def counted(self, line: int, qty: str) -> Draft:
        """The draft with one lot counted."""
        return replace(self, counts={**self.counts, line: qty})

    def uncounted(self, line: int) -> Draft:
        """The draft with one count taken back."""
        rest = {other: qty for other, qty in self.counts.items() if other != line}
        return replace(self, counts=rest)

    @property
    def differing(self) -> dict[int, str]:
        """Counts other than what stock.csv says, by line."""
        rows = stock_rows(self.rows)
        return {
            line: qty for line, qty in self.counts.items() if not same_qty(rows[line]["qty"], qty)
        }


def same_qty(a: str, b: str) -> bool:
    """Whether two cells are the same number: `3` and `3.0` are."""
    try:
        return Decimal(a) == Decimal(b)
    except InvalidOperation:
        return a == b


def step_of(unit: str, state: str) -> Decimal:
    """What one press of plus or minus is, in `unit`."""
    if unit in ("g", "ml"):
        return Decimal(50)
    if unit in ("kg", "l"):
        return Decimal("0.1")
    return Decimal("0.25") if unit == "each" and state == "opened" else Decimal(1)


def stepped(qty: str, step: Decimal) -> str:
    """`qty` one step up or down, never below nothing."""
    return qty_text(max(Decimal(0), Decimal(qty) + step))


def qty_text(value: Decimal | float) -> str:
    """A quantity as one would type it: no exponent, no needless zeros."""
    exact = value if isinstance(value, Decimal) else Decimal(format(value, ".12g"))
    text = format(exact, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def applied(draft: Draft) -> tuple[Records, dict[str, str]]:
    """The records with the counts put in, rows of nothing taken out; and the new name of each
    lot that is still there, by its old one."""
    gone = {line for line, qty in draft.differing.items() if same_qty(qty, "0")}
    records = []
    for line, cells in enumerate(draft.rows, 1):
        if line in gone:
            continue
        qty = draft.differing.get(line)
        records.append(cells if qty is None else _with_qty(draft.rows, cells, qty))
    kept = [name for name, line in lot_lines(draft.rows).items() if line not in gone]
    return tuple(records), {old: f"stock-{count}" for count, old in enumerate(kept, 1)}


def _with_qty(records: Records, cells: tuple[str, ...], qty: str) -> tuple[str, ...]:
    head = next(one for one in records if any(map(str.strip, one)))
    place = [name.strip().lower() for name in head].index("qty")
    return (*cells[:place], qty, *cells[place + 1 :])


def rebased(draft: Draft, records: Records) -> tuple[Draft, list[str]]:
    """The draft on stock.csv as somebody has saved it meanwhile, and what is to be told:
    counts whose row was changed or is gone."""
    if records == draft.rows:
        return draft, []
    lines = _matched(stock_rows(draft.rows), stock_rows(records))
    old, new = stock_rows(draft.rows), stock_rows(records)
    counts, told = {}, []
    for line, qty in draft.counts.items():
        row, now = old[line], lines.get(line)
        called = f"{row['item']} ({row['use_by'] or 'no date'})"
        mine = f"you counted {qty} {row['unit']}"
        if now is None:
            told.append(f"{called}: {mine}; its row has been taken out meanwhile")
            continue
        there = new[now]
        if there["unit"] != row["unit"]:
            said = f"it is now kept as {there['qty']} {there['unit']}; count it again"
            told.append(f"{called}: {mine}; {said}")
            continue
        counts[now] = qty
        if not same_qty(there["qty"], row["qty"]):
            said = f"meanwhile it was saved as {there['qty']} {there['unit']}"
            told.append(f"{called}: {mine}; {said}. Saving puts yours in its place")
    return Draft(records, counts), told


def lots_between(old: Records, new: Records) -> dict[str, str]:
    """The new name of each lot that is in both tables, by its old one."""
    lines = _matched(stock_rows(old), stock_rows(new))
    names = {line: name for name, line in lot_lines(new).items()}
    return {name: names[lines[line]] for name, line in lot_lines(old).items() if line in lines}


def _matched(old: Mapping[int, Row], new: Mapping[int, Row]) -> dict[int, int]:
    """Old line -> new line: rows alike in all cells first, then those of one name in order."""
    found: dict[int, int] = {}
    for columns in ((*NAMED_BY, "qty", "unit"), NAMED_BY):
        taken = set(found.values())
        free: dict[tuple[str, ...], list[int]] = defaultdict(list)
        for line, row in new.items():
            if line not in taken:
                free[_name(row, columns)].append(line)
        for line, row in old.items():
            if line not in found and free[_name(row, columns)]:
                found[line] = free[_name(row, columns)].pop(0)
    return found


def _name(row: Row, columns: Iterable[str]) -> tuple[str, ...]:
    return tuple(row.get(column, "") for column in columns)


def lots_moved(rules: Sequence[Rule], names: Mapping[str, str]) -> tuple[Rule, ...]:
    """The rules with lots by their new names; those about a lot that is gone left out."""
    moved: list[Rule] = []
    for rule in rules:
        if isinstance(rule, UseUp) and rule.lot is not None:
            if rule.lot in names:
                moved.append(rule.model_copy(update={"lot": names[rule.lot]}))
        else:
            moved.append(rule)
    return tuple(moved)
