"""Rules about things that are opened or cut."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Form, State
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, Terms
from optimiser.rules.words import (
    GRAMS_UP_TO,
    LEAST_G,
    MEASURE_TOLERANCE,
    counted,
    named,
    on,
    plain,
    row_key,
    up_to,
)
from optimiser.week import Week, last_day, open_dates

REST_G = 1.0
"""A gram in an opened tin is a finished tin."""


class FinishOpened(Rule):
    """What is opened or cut is finished.

    For each whole ingredient i, with O[i] its grams opened in stock, u[i,t] pieces cut or
    opened on t and use[i,t] what cooks take:
        O[i] + Σ_t (piece_g·u[i,t] − use[i,t]) ≤ rest_g
    """

    kind: Literal["finish_opened"] = "finish_opened"
    title: ClassVar[str] = "Opened things finished"
    unit: ClassVar[str] = "gram not finished"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "one tofu block of 500 g opened, 460 g cooked, rest_g 50"
    broken: ClassVar[str] = "only 300 g of it cooked: broken by 150"
    lumpy: ClassVar[bool] = True

    rest_g: float = Field(
        default=50.0,
        ge=0.0,
        le=100_000.0,
        description="grams of each opened thing that may remain when the week ends",
    )

    def describe(self, cafe: Cafe) -> str:
        rest = f"up to {plain(self.rest_g)} g" if self.rest_g else "nothing"
        return (
            "Of every tin, block or vegetable that is opened or cut in pieces, "
            f"{rest} is left over when the week ends."
        )

    def add_to(self, model: Rows) -> None:
        week = model.week
        for ingredient in whole_ingredients(week.cafe):
            terms, opened_g = model.unfinished_g(ingredient, week.last)
            if terms or opened_g > self.rest_g:
                model.at_most(self, row_key(ingredient), terms, self.rest_g - opened_g)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Follows every opened lot of the plan and adds up the rests by ingredient."""
        last = open_dates(cafe, plan.week, plan.days)[-1]
        breaches = []
        for item, rest_g in rests_g(plan, cafe, last).items():
            if (over := rest_g - self.rest_g) > MEASURE_TOLERANCE:
                text = f"{plain(rest_g)} g of opened {cafe.name_of(item)} are not used"
                breaches.append(self.breach(text, over, None, item))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.rest_g, LEAST_G)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{plain(up_to(self.rest_g + b.amount, GRAMS_UP_TO))} g of opened "
                f"{named(cafe, b)} left over instead of {plain(self.rest_g)} g",
                None,
            )
            for b in breaches
        ]


class OpenedOverClosed(Rule):
    """Few opened things are unfinished when the cafe closes for a day or more.

    For each open day t before a closed one, with r[i,t] grams of whole ingredient i opened
    up to t and not used, M[i] more than that can be, and b[i,t] yes or no:
        r[i,t] ≤ M[i] · b[i,t]   (always hard: what b means)
        Σ_i b[i,t] ≤ things
    What was binned half used counts too: it was not finished. Grams below REST_G do not.
    """

    kind: Literal["opened_over_closed"] = "opened_over_closed"
    title: ClassVar[str] = "Opened things over a closed day"
    unit: ClassVar[str] = "opened thing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "half a pumpkin and half a tofu block on Saturday evening, 2 things"
    broken: ClassVar[str] = "an open tin of coconut milk besides: broken by 1"
    lumpy: ClassVar[bool] = True

    things: int = Field(
        default=3,
        ge=0,
        le=100,
        description="opened or cut things not finished before a closed day, at most",
    )

    def describe(self, cafe: Cafe) -> str:
        some = counted(self.things, "opened thing") if self.things else "no opened thing"
        return f"Over a closed day at most {some} may be waiting unfinished."

    def faults(self, cafe: Cafe) -> list[str]:
        if len(cafe.open_days) == 7:
            return ["the cafe is never closed, so this rule holds nothing; take it out"]
        return []

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        for day in before_closed(cafe, model.week.open_dates):
            count: Terms = []
            for item in whole_ingredients(cafe):
                terms, opened_g = model.unfinished_g(item, day)
                if not terms and opened_g <= REST_G:
                    continue
                key = row_key(item, day)
                waits = model.yes_no(f"waits__{key}")
                most_g = opened_g + most_cut_g(model.week, item)
                model.define(self, key, [*terms, (waits, -most_g)], REST_G - opened_g)
                count.append((waits, 1.0))
            if len(count) > self.things:
                model.at_most(self, row_key("opened", day), count, self.things)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Names the opened lots with something in them on the evening before."""
        breaches = []
        for day in before_closed(cafe, open_dates(cafe, plan.week, plan.days)):
            waiting = [
                cafe.name_of(item)
                for item, rest_g in rests_g(plan, cafe, day).items()
                if rest_g > REST_G + MEASURE_TOLERANCE
            ]
            if (over := len(waiting) - self.things) > 0:
                text = f"after {on(day)} {', '.join(waiting)} wait unfinished, {over} too many"
                breaches.append(self.breach(text, over, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.things, 1)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{counted(self.things + round(b.amount), 'opened thing')} over the closed day "
                f"instead of {self.things}",
                b.day,
            )
            for b in breaches
        ]


def whole_ingredients(cafe: Cafe) -> list[str]:
    """Ids of the ingredients that are cut or opened by the piece."""
    return [one.id for one in cafe.ingredients.values() if one.form is Form.WHOLE]


def most_cut_g(week: Week, item: str) -> float:
    """More grams than a week has reason to cut: its stock, and all that any cook could take
    of it in as many pieces again, each day."""
    cafe = week.cafe
    piece_g = cafe.ingredients[item].piece_g or 0.0
    stock_g = sum(lot.grams for lot in week.usable_stock if lot.item == item)
    cooked_g = sum(
        line.purchased_g * dish.max_portions / dish.portions
        for dish in cafe.dishes.values()
        for line in dish.lines
        if line.item == item
    )
    return stock_g + (2 * cooked_g + piece_g) * len(week.open_dates)


def before_closed(cafe: Cafe, days: tuple[date, ...]) -> list[date]:
    """Those of the open days that a closed one follows."""
    return [day for day in days if (day + timedelta(days=1)).weekday() not in cafe.open_days]


def rests_g(plan: Plan, cafe: Cafe, day: date) -> dict[str, float]:
    """Grams opened up to `day`, in stock or by the plan, less what cooks took of them."""
    rests: dict[str, float] = defaultdict(float)
    first = open_dates(cafe, plan.week, plan.days)[0]
    opened = {
        lot.id: lot
        for lot in cafe.stock
        if lot.state is State.OPENED and last_day(lot.use_by) >= first
    }
    for lot in opened.values():
        if lot.item in cafe.ingredients and cafe.ingredients[lot.item].form is Form.WHOLE:
            rests[lot.item] += lot.grams
    for cut in plan.opens:
        if cut.date <= day:
            rests[cut.ingredient] += cut.units * (cafe.ingredients[cut.ingredient].piece_g or 0.0)
    for use in plan.uses:
        if use.date <= day and (use.lot in opened or use.lot.startswith("opened-")):
            if use.item in rests:
                rests[use.item] -= use.grams
    return rests


RULES: tuple[type[Rule], ...] = (FinishOpened, OpenedOverClosed)
