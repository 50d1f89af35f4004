"""What if something is in stock after all, is not there, or is more or less than counted?"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal

from pydantic import Field

from optimiser.cafe import Cafe, Lot, State
from optimiser.change_base import Change, capital, with_cafe
from optimiser.rules.stock import UseUp
from optimiser.rules.words import counted, on, plain, unknown
from optimiser.table_amounts import Pantry
from optimiser.table_faults import Findings
from optimiser.table_rows import Row, Table
from optimiser.table_schema import MAX_G, STOCK
from optimiser.table_stock import read_stock
from optimiser.units import Measures
from optimiser.week import Week


class ExtraLot(Change):
    """One more lot in stock: new stock = stock + (extra-n), with n ≥ 1 the first free number.

    What may stand in a row of stock.csv may stand here, and counts as there: whole
    things in full pieces, a date needed for all but dry goods.
    """

    kind: Literal["stock"] = "stock"
    item: str = Field(description="id of the ingredient or cooked dish")
    qty: float = Field(gt=0, le=MAX_G, description="amount, in `unit`")
    unit: str = Field(description="g, kg, ml, l, tsp, tbsp, cup, each or portion")
    use_by: date | None = Field(default=None, description="last day of use; blank for dry goods")
    state: State | None = Field(
        default=None, description="blank = whole for ingredients, cooked for dishes"
    )

    def faults(self, week: Week) -> list[str]:
        known = [*week.cafe.ingredients, *week.cafe.dishes]
        if self.item not in known:
            return [unknown("ingredient or dish", self.item, known)]
        return _lot_faults(week.cafe, self._counted(week.cafe))

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        lot, name = _weighed(cafe, self._counted(cafe)), cafe.name_of(self.item)
        opened = " (opened)" if lot.state is State.OPENED else ""
        pieces = f", counted as {counted(lot.units, 'piece')}" if lot.units else ""
        end = f", to use by {on(lot.use_by)}" if lot.use_by else ""
        what = f"{_amount(lot.qty, lot.unit)} of {name}{opened}"
        return f"More in stock: {what}{pieces}{end}."

    def _state(self, cafe: Cafe) -> State:
        return self.state or (State.COOKED if self.item in cafe.dishes else State.WHOLE)

    def _counted(self, cafe: Cafe) -> Lot:
        """The lot as counted, its grams and pieces not worked out yet."""
        taken = {lot.id for lot in cafe.stock}
        number = next(n for n in range(1, len(taken) + 2) if f"extra-{n}" not in taken)
        return Lot(
            id=f"extra-{number}",
            item=self.item,
            state=self._state(cafe),
            qty=self.qty,
            unit=self.unit,
            grams=0.0,
            use_by=self.use_by,
        )

    def _applied(self, week: Week) -> Week:
        lot = _weighed(week.cafe, self._counted(week.cafe))
        return with_cafe(week, stock=(*week.cafe.stock, lot))


class LotGone(Change):
    """A lot that is not there after all: new stock = stock − (lot).

    A rule that asks for the use of this very lot (≥ some of its grams) goes with it.
    """

    kind: Literal["lot_gone"] = "lot_gone"
    lot: str = Field(description="stock-n for the n-th row of stock.csv, or extra-n")

    def faults(self, week: Week) -> list[str]:
        return _lot_id_faults(week.cafe, self.lot)

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        lot = _lot(cafe, self.lot)
        what = f"{_amount(lot.qty, lot.unit)} of {cafe.name_of(lot.item)}"
        return f"{capital(lot.id)}, {what}, is not there after all."

    def _applied(self, week: Week) -> Week:
        stock = tuple(lot for lot in week.cafe.stock if lot.id != self.lot)
        rules = tuple(
            rule for rule in week.rules if not (isinstance(rule, UseUp) and rule.lot == self.lot)
        )
        return replace(with_cafe(week, stock=stock), rules=rules)


class LotCount(Change):
    """A lot counted anew: its quantity is `qty` `unit`; its state and use-by stay."""

    kind: Literal["lot_count"] = "lot_count"
    lot: str = Field(description="stock-n for the n-th row of stock.csv, or extra-n")
    qty: float = Field(gt=0, le=MAX_G, description="amount, in `unit`")
    unit: str = Field(description="g, kg, ml, l, tsp, tbsp, cup, each or portion")

    def faults(self, week: Week) -> list[str]:
        found = _lot_id_faults(week.cafe, self.lot)
        return found or _lot_faults(week.cafe, self._counted(week.cafe))

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        lot = _lot(cafe, self.lot)
        old, new = _amount(lot.qty, lot.unit), _amount(self.qty, self.unit)
        return f"{capital(lot.id)}, {cafe.name_of(lot.item)}, is {new} instead of {old}."

    def _counted(self, cafe: Cafe) -> Lot:
        return _lot(cafe, self.lot).model_copy(update={"qty": self.qty, "unit": self.unit})

    def _applied(self, week: Week) -> Week:
        lot = _weighed(week.cafe, self._counted(week.cafe))
        stock = tuple(lot if one.id == self.lot else one for one in week.cafe.stock)
        return with_cafe(week, stock=stock)


def _lot(cafe: Cafe, ident: str) -> Lot:
    return next(lot for lot in cafe.stock if lot.id == ident)


def _lot_id_faults(cafe: Cafe, ident: str) -> list[str]:
    known = [lot.id for lot in cafe.stock]
    return [] if ident in known else [unknown("lot", ident, known)]


def _amount(qty: float, unit: str) -> str:
    return f"{plain(qty)} {unit}"


def _lot_faults(cafe: Cafe, lot: Lot) -> list[str]:
    """What a row of stock.csv like this lot would be told."""
    return _read(cafe, lot)[1]


def _weighed(cafe: Cafe, lot: Lot) -> Lot:
    """The lot with its grams and pieces."""
    return _read(cafe, lot)[0][0].model_copy(update={"id": lot.id})


def _read(cafe: Cafe, lot: Lot) -> tuple[tuple[Lot, ...], list[str]]:
    """The lot read as a row of stock.csv is, and the faults of that row."""
    cells = {
        "item": lot.item,
        "qty": lot.qty,
        "unit": lot.unit,
        "use_by": lot.use_by,
        "state": lot.state.value,
    }
    table = Table(STOCK, Findings(), [Row(line=1, count=1, written={}, values=cells)])
    pantry = Pantry(ingredients=cafe.ingredients)
    lots = read_stock(table, pantry, cafe.dishes, True, Measures(cafe.cup_ml, cafe.tbsp_ml))
    return lots, [f"{fault.column}: {fault.message}" for fault in table.findings.faults]
