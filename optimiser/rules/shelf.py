"""Rules about amounts on the shelf and room in the fridge."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import demand
from optimiser.cafe import COMPONENT, Cafe, Form, State
from optimiser.plan import Breach, Plan
from optimiser.rules.amounts import pack_g
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.opened import rests_g, whole_ingredients
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
from optimiser.week import Week, is_dry, last_day, open_dates

CRUMBS_G = 1.0
"""Rests too small to be listed as left may add up to this."""

LITRES_UP_TO = 5


class ParLevel(Rule):
    """A larder item never runs below its par: so much is left when the week ends.

    With w[i] the grams of i still good on the first open day after the week, opened and
    cut pieces left out:
        w[i] ≥ par_g   (par_pieces: par_pieces · piece_g)
    The plan may buy it for the shelf alone.
    """

    kind: Literal["par_level"] = "par_level"
    title: ClassVar[str] = "Par level"
    unit: ClassVar[str] = "gram short"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "2000 g of chickpeas left on Saturday evening, par_g 2000"
    broken: ClassVar[str] = "1200 g left: broken by 800"
    lumpy: ClassVar[bool] = True

    item: str = Field(description="id of the ingredient")
    par_g: float | None = Field(
        default=None, gt=0.0, le=1e6, description="grams left when the week ends, at least"
    )
    par_pieces: int | None = Field(
        default=None, ge=1, le=10_000, description="whole pieces left instead, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        amount = (
            f"{plain(self.par_g)} g"
            if self.par_g is not None
            else counted(self.par_pieces or 0, "unopened piece")
        )
        return f"At least {amount} of {cafe.name_of(self.item)} are left when the week ends."

    def faults(self, cafe: Cafe) -> list[str]:
        if self.item not in cafe.ingredients:
            return [unknown("ingredient", self.item, cafe.ingredients)]
        if (self.par_g is None) == (self.par_pieces is None):
            return ["give par_g or par_pieces, one of them"]
        if self.par_pieces is not None and cafe.ingredients[self.item].form is not Form.WHOLE:
            return [f"{self.item!r} is weighed, not counted; give par_g"]
        return []

    def _least_g(self, cafe: Cafe) -> float:
        if self.par_g is not None:
            return self.par_g
        return (self.par_pieces or 0) * (cafe.ingredients[self.item].piece_g or 0.0)

    def stocks(self, cafe: Cafe) -> dict[str, float]:
        return {self.item: self._least_g(cafe)}

    def add_to(self, model: Rows) -> None:
        terms, fixed_g = model.left_g(self.item)
        least_g = self._least_g(model.week.cafe)
        model.at_least(self, row_key(self.item), terms, least_g - fixed_g)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Adds up what the plan lists as left, opened pieces aside."""
        whole = cafe.ingredients[self.item].form is Form.WHOLE
        opened = {lot.id for lot in cafe.stock if lot.state is State.OPENED}
        left_g = sum(
            row.grams
            for row in plan.left
            if row.item == self.item
            and not (whole and (row.lot in opened or row.lot.startswith("opened-")))
        )
        short = self._least_g(cafe) - left_g
        if short <= CRUMBS_G:
            return []
        text = f"{plain(left_g)} g of {cafe.name_of(self.item)} are left, {plain(short)} g short"
        return [self.breach(text, short, None, self.item)]

    def share(self, week: Week) -> float:
        return 1 / max(self._least_g(week.cafe), LEAST_G)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        asked = plain(self._least_g(cafe))
        return [
            (
                f"let {named(cafe, b)} run down to "
                f"{plain(max(0.0, self._least_g(cafe) - up_to(b.amount, GRAMS_UP_TO)))} g "
                f"instead of {asked} g",
                None,
            )
            for b in breaches
        ]


class FridgeLitres(Rule):
    """What is kept cold overnight fits into the fridge.

    For each open day t, when the kitchen closes, with v[i] litres a kilo of ingredient i
    takes, s[i,t] grams of it in the house, o[i,t] grams of other opened or cut things and
    w[t] grams of cooked food that waits for later days:
        Σ_i v[i]·s[i,t]/1000 + l_per_kg·(Σ_i o[i,t] + w[t])/1000 ≤ litres
    In the house is what was in stock or came up to t and was not cooked; food that spoilt
    meanwhile is counted as if it were still there.
    """

    kind: Literal["fridge_litres"] = "fridge_litres"
    title: ClassVar[str] = "Room in the fridge"
    unit: ClassVar[str] = "litre"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "10 kg of kale at 5 litres a kilo on Monday evening, 60 litres"
    broken: ClassVar[str] = "13 kg of kale: broken by 5"
    lumpy: ClassVar[bool] = True

    litres: float = Field(gt=0.0, le=100_000.0, description="litres of the fridge, at most")
    l_per_kg: float = Field(
        default=1.3,
        gt=0.0,
        le=20.0,
        description="litres that a kilo of cooked or opened food takes in its container "
        "(common practice, no source)",
    )

    def describe(self, cafe: Cafe) -> str:
        known = sum(one.fridge_l_per_kg is not None for one in cafe.ingredients.values())
        return (
            f"What is kept cold overnight fits into {plain(self.litres)} litres: "
            f"{counted(known, 'ingredient')} with litres a kilo, opened things and cooked food."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        dry = [one.id for one in cafe.ingredients.values() if one.fridge_l_per_kg and is_dry(one)]
        if dry:
            return [f"{dry[0]!r} is dry and bought by the gram; blank its fridge_l_per_kg"]
        return []

    def add_to(self, model: Rows) -> None:
        week = model.week
        cold = self._cold_l_per_g(week.cafe)
        whole = [item for item in whole_ingredients(week.cafe) if item not in cold]
        per_g = self.l_per_kg / 1000
        for day in week.open_dates:
            sums = [(model.on_hand_g(item, day), litres) for item, litres in cold.items()]
            sums += [(model.unfinished_g(item, day), per_g) for item in whole]
            terms = [(v, c * litres) for (own, _), litres in sums for v, c in own]
            fixed_l = sum(grams * litres for (_, grams), litres in sums)
            terms += model.run_terms(
                (run, waiting * week.cafe.dishes[run.dish].portion_g * per_g)
                for run in model.runs
                if run.cook_day <= day
                and (waiting := _waiting(week.cafe, run.dish, run.shown, run.portions, day))
            )
            if terms or fixed_l > self.litres:
                model.at_most(self, row_key("fridge", day), terms, self.litres - fixed_l)

    def _cold_l_per_g(self, cafe: Cafe) -> dict[str, float]:
        """Litres of a gram of what the fridge holds uncut, cooked parts included."""
        cold = {
            one.id: one.fridge_l_per_kg / 1000
            for one in cafe.ingredients.values()
            if one.fridge_l_per_kg is not None
        }
        parts = {line.item for dish in cafe.dishes.values() for line in dish.lines}
        parts |= {dish.id for dish in cafe.dishes.values() if dish.course == COMPONENT}
        return cold | dict.fromkeys(sorted(parts & set(cafe.dishes)), self.l_per_kg / 1000)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Goes through the plan day by day with a running store of everything cold."""
        cold = self._cold_l_per_g(cafe)
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            litres = sum(
                grams * cold[item]
                for item, grams in _in_house_g(plan, cafe, day).items()
                if item in cold
            )
            litres += (
                self.l_per_kg
                / 1000
                * sum(grams for item, grams in rests_g(plan, cafe, day).items() if item not in cold)
            )
            litres += (
                self.l_per_kg
                / 1000
                * sum(
                    row.portions * cafe.dishes[row.dish].portion_g
                    for row in plan.shown
                    if row.cooked_on <= day < row.date
                )
            )
            if (over := litres - self.litres) > MEASURE_TOLERANCE:
                text = f"after {on(day)} {plain(litres)} litres are to be kept cold"
                breaches.append(self.breach(f"{text}, {plain(over)} too many", over, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.litres

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"room for {plain(self.litres + up_to(b.amount, LITRES_UP_TO))} litres in the "
                f"fridge instead of {plain(self.litres)}",
                b.day,
            )
            for b in breaches
        ]


def _waiting(cafe: Cafe, dish: str, shown: tuple[date, ...], portions: int, day: date) -> int:
    """Portions of a cook that are for days after `day`."""
    split = demand.shares(cafe, cafe.dishes[dish], shown, portions)
    return sum(share for on_day, share in zip(shown, split, strict=True) if on_day > day)


def _in_house_g(plan: Plan, cafe: Cafe, day: date) -> dict[str, float]:
    """Grams of each item in stock, delivered or cooked as a part up to `day`, less uses."""
    grams: dict[str, float] = defaultdict(float)
    first = open_dates(cafe, plan.week, plan.days)[0]
    for lot in cafe.stock:
        if last_day(lot.use_by) >= first:
            grams[lot.item] += lot.grams
    for buy in plan.buys:
        if buy.deliver_on <= day:
            grams[buy.ingredient] += buy.packs * pack_g(buy, cafe)
    for cook in plan.cooks:
        if cook.date <= day:
            sold = sum(
                row.portions
                for row in plan.shown
                if (row.dish, row.cooked_on) == (cook.dish, cook.date)
            )
            grams[cook.dish] += (cook.portions - sold) * cafe.dishes[cook.dish].portion_g
    for use in plan.uses:
        if use.date <= day:
            grams[use.item] -= use.grams
    return grams


RULES: tuple[type[Rule], ...] = (ParLevel, FridgeLitres)
