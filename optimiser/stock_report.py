"""The use-up list: what becomes of every lot that was on the shelf before the week."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Cafe, Lot
from optimiser.plan import Plan, Use
from optimiser.report_base import CRUMB_G, Row, day_text, listed, number_text
from optimiser.week import last_day, open_dates

USE_UP_COLUMNS = (
    "lot",
    "item",
    "name",
    "state",
    "use_by",
    "days_left",
    "stock_g",
    "used_g",
    "left_g",
    "binned_g",
    "finished",
    "used_for",
)


@dataclass(frozen=True)
class Fate:
    """What becomes of a stock lot. Pieces cut from it count as the lot."""

    lot: Lot
    uses: tuple[Use, ...]
    left_g: float
    binned_g: float

    @property
    def finished(self) -> bool:
        """Whether cooking uses all of it."""
        return bool(self.uses) and self.left_g + self.binned_g < CRUMB_G

    def used_g(self) -> list[tuple[date, str, float]]:
        """Day, dish and grams of every cook that uses some of it."""
        total: dict[tuple[date, str], float] = defaultdict(float)
        for use in self.uses:
            total[use.date, use.dish] += use.grams
        return [(day, dish, grams) for (day, dish), grams in sorted(total.items())]

    def used_for(self, cafe: Cafe) -> str:
        """When, for which dish and how much."""
        return listed(
            f"{day_text(use.date)} {cafe.name_of(use.dish)} {number_text(use.grams)} g"
            for use in self.uses
        )


def stock_fates(plan: Plan, cafe: Cafe) -> list[Fate]:
    """Every stock lot, the shortest-lived first."""
    lots = sorted(cafe.stock, key=lambda lot: (last_day(lot.use_by), lot.item))
    return [fate_of(plan, lot) for lot in lots]


def fate_of(plan: Plan, lot: Lot) -> Fate:
    """What becomes of one lot."""
    names = {lot.id} | {f"opened-{cut.date}-{cut.lot}" for cut in plan.opens if cut.lot == lot.id}
    return Fate(
        lot=lot,
        uses=tuple(use for use in plan.uses if use.lot in names),
        left_g=sum(row.grams for row in plan.left if row.lot in names),
        binned_g=sum(row.grams for row in plan.binned if row.lot in names),
    )


def use_up_rows(plan: Plan, cafe: Cafe) -> list[Row]:
    """A row per stock lot. `days_left` counts from the first open day of the week,
    that day included; 0 means expired before it."""
    first = open_dates(cafe, plan.week, plan.days)[0]
    rows: list[Row] = []
    for fate in stock_fates(plan, cafe):
        lot = fate.lot
        rows.append(
            {
                "lot": lot.id,
                "item": lot.item,
                "name": cafe.name_of(lot.item),
                "state": lot.state.value,
                "use_by": lot.use_by,
                "days_left": lot.use_by and max(0, (lot.use_by - first).days + 1),
                "stock_g": round(lot.grams, 1),
                "used_g": round(sum(use.grams for use in fate.uses), 1),
                "left_g": round(fate.left_g, 1),
                "binned_g": round(fate.binned_g, 1),
                "finished": "yes" if fate.finished else "no",
                "used_for": fate.used_for(cafe),
            }
        )
    return rows
