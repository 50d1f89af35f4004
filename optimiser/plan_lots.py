"""An older plan on a newer stock table: where the lots that it names are now.

A lot is named by its row in stock.csv, so a row taken out gives later lots other names.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from optimiser.cafe import Cafe
from optimiser.plan import Binned, Breach, Left, Open, Plan, Use
from optimiser.report_base import day_text

_STOCK = re.compile(r"(?P<cut>opened-\d{4}-\d{2}-\d{2}-)?(?P<lot>stock-\d+)")

Named = TypeVar("Named", Open, Use, Left, Binned)


@dataclass(frozen=True)
class Lots:
    """`cafe`: as it was when the plan was made; `names`: the name that each of its lots has
    now, those that are gone left out."""

    cafe: Cafe = field(repr=False)
    names: Mapping[str, str]

    def missing(self, plan: Plan) -> list[Breach]:
        """Lots that the plan cooks from or cuts, and that are no longer there."""
        taken = {use.lot for use in plan.uses} | {cut.lot for cut in plan.opens}
        gone = [lot for lot in self.cafe.stock if lot.id in taken and lot.id not in self.names]
        return [
            Breach(
                rule="Stock",
                text=f"{self.cafe.name_of(lot.item)} (use by {day_text(lot.use_by)}) is no "
                "longer in stock, and the plan uses it",
                item=lot.item,
            )
            for lot in gone
        ]

    def renamed(self, plan: Plan) -> Plan:
        """The plan with the names that its lots have now; what it says of the rest of lots
        that are gone is left out. None of them may be `missing`."""
        gone = {lot.id for lot in self.cafe.stock} - self.names.keys()
        return plan.model_copy(
            update={
                "opens": tuple(self._moved(row) for row in plan.opens),
                "uses": tuple(self._moved(row) for row in plan.uses),
                "left": tuple(self._moved(row) for row in plan.left if row.lot not in gone),
                "binned": tuple(self._moved(row) for row in plan.binned if row.lot not in gone),
            }
        )

    def _moved(self, row: Named) -> Named:
        """A row with its lot, or the lot that its pieces were cut from, by its name of now."""
        found = _STOCK.fullmatch(row.lot)
        name = self.names.get(found["lot"]) if found else None
        if found is None or name is None:
            return row
        return row.model_copy(update={"lot": f"{found['cut'] or ''}{name}"})
