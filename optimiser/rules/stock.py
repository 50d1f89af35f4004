"""Rules about what is on the shelf."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Form, Lot, State
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import (
    GRAMS_UP_TO,
    LEAST_G,
    MEASURE_TOLERANCE,
    counted,
    named,
    on,
    plain,
    row_key,
    unknown,
    up_to,
)
from optimiser.week import Week, last_day, open_dates

ANY = "*"


class UseUp(Rule):
    """Stock lots are used this week.

    For each matching stock lot l that is still good on the first open day:
        grams used of l over the week ≥ share_pct/100 · grams of l
    Used means cooked; for whole pieces, cut or opened.
    """

    kind: Literal["use_up"] = "use_up"
    title: ClassVar[str] = "Stock to use up"
    unit: ClassVar[str] = "gram not used"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "500 g of a lot of 500 g cooked"
    broken: ClassVar[str] = "300 g cooked: broken by 200"
    lumpy: ClassVar[bool] = True

    item: str = Field(
        default=ANY, description="id of the ingredient or cooked dish; * = everything in stock"
    )
    lot: str | None = Field(
        default=None,
        description="one lot only, stock-n for the n-th row of stock.csv; blank = every lot",
    )
    share_pct: float = Field(
        default=100.0, gt=0.0, le=100.0, description="percent of each lot, at least"
    )
    use_by: date | None = Field(
        default=None, description="only lots with a use-by date up to this one; blank = all"
    )
    within_days: int | None = Field(
        default=None,
        ge=1,
        le=60,
        description="only lots with a use-by among this many days from the week's first; "
        "blank = all",
    )

    def describe(self, cafe: Cafe) -> str:
        share = "All" if self.share_pct == 100 else f"At least {plain(self.share_pct)} %"
        what = "every lot in stock" if self.item == ANY else f"every lot of {self._name(cafe)}"
        if one := self._lot(cafe):
            what = f"{cafe.name_of(one.item)} ({one.id})"
        until = "" if self.use_by is None else f" with a use-by up to {on(self.use_by)}"
        if self.within_days is not None:
            until += f" with a use-by in the first {counted(self.within_days, 'day')} of the week"
        return f"{share} of {what}{until} is used this week."

    def _name(self, cafe: Cafe) -> str:
        return cafe.name_of(self.item)

    def _lot(self, cafe: Cafe) -> Lot | None:
        return next((lot for lot in cafe.stock if lot.id == self.lot), None)

    def faults(self, cafe: Cafe) -> list[str]:
        if self.lot is not None:
            one = self._lot(cafe)
            if one is None:
                return [unknown("lot", self.lot, [lot.id for lot in cafe.stock])]
            if self.item not in (ANY, one.item):
                return [f"{self.lot} is {one.item!r}, not {self.item!r}; leave item out"]
            return []
        if self.item == ANY:
            if self.use_by is None and self.within_days is None:
                return ["item * needs use_by, within_days or lot, or all dry goods must go too"]
            return []
        known = [*cafe.ingredients, *cafe.dishes]
        return [] if self.item in known else [unknown("ingredient or dish", self.item, known)]

    def wants(self, lot: Lot, start: date) -> bool:
        """Whether this rule is about `lot` in the week from `start`."""
        if self.item not in (ANY, lot.item) or self.lot not in (None, lot.id):
            return False
        last = last_day(lot.use_by)
        soon = self.within_days is None or last < start + timedelta(days=self.within_days)
        return soon and (self.use_by is None or last <= self.use_by)

    def add_to(self, model: Rows) -> None:
        for lot in model.week.usable_stock:
            if self.wants(lot, model.week.start):
                least_g = lot_g(model.week.cafe, lot) * self.share_pct / 100
                used = model.used_from_stock(lot.id)
                model.at_least(self, row_key(lot.item, lot.id), used, least_g)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Adds up what the plan's own lines say was cooked from, or cut of, each lot."""
        used_g: dict[str, float] = defaultdict(float)
        for use in plan.uses:
            used_g[use.lot] += use.grams
        for cut in plan.opens:
            used_g[cut.lot] += cut.units * (cafe.ingredients[cut.ingredient].piece_g or 0.0)
        first = open_dates(cafe, plan.week, plan.days)[0]
        breaches = []
        for lot in cafe.stock:
            if last_day(lot.use_by) < first or not self.wants(lot, plan.week):
                continue
            short = lot_g(cafe, lot) * self.share_pct / 100 - used_g[lot.id]
            if short > MEASURE_TOLERANCE:
                text = f"{cafe.name_of(lot.item)} ({lot.id}): {plain(short)} g too little is used"
                breaches.append(self.breach(text, short, lot.use_by, lot.item))
        return breaches

    def share(self, week: Week) -> float:
        lots = [lot for lot in week.usable_stock if self.wants(lot, week.start)]
        asked_g = sum(lot_g(week.cafe, lot) for lot in lots) * self.share_pct / 100
        return 1 / max(asked_g, LEAST_G)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"leave {plain(up_to(b.amount, GRAMS_UP_TO))} g more of {named(cafe, b)} unused"
                + (f" (use by {on(b.day)})" if b.day else ""),
                None,
            )
            for b in breaches
        ]


def lot_g(cafe: Cafe, lot: Lot) -> float:
    """Grams of a lot, counted as `used` counts them: whole pieces by the piece."""
    ingredient = cafe.ingredients.get(lot.item)
    if ingredient is None or ingredient.form is not Form.WHOLE or lot.state is not State.WHOLE:
        return lot.grams
    return lot.units * (ingredient.piece_g or 0.0)


RULES: tuple[type[Rule], ...] = (UseUp,)
