"""Rules about what food costs."""

from __future__ import annotations

from collections import defaultdict
from math import isclose
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe
from optimiser.costs import Costs
from optimiser.plan import Breach, Buy, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.words import (
    CENTS_UP_TO,
    COURSE,
    LEAST_CENTS,
    MEASURE_TOLERANCE,
    PCT_UP_TO,
    course_faults,
    dish_word,
    money,
    named,
    on,
    plain,
    row_key,
    up_to,
)
from optimiser.week import Week, is_dry


class PortionCostCap(Rule):
    """Dishes whose ingredients cost too much are not shown.

    For each dish r whose portion costs more than cap_cents, and each open day t:
        (cost[r] − cap_cents) · shown[r,t] ≤ 0
    """

    kind: Literal["portion_cost_cap"] = "portion_cost_cap"
    title: ClassVar[str] = "Cost of a portion"
    unit: ClassVar[str] = "cent over, per showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a dish of 150 cents a portion, cap 150"
    broken: ClassVar[str] = "one of 180 cents: broken by 30"

    course: str | None = Field(default=None, description=COURSE)
    cap_cents: int = Field(
        ge=0, le=1_000_000, description="cents of ingredients in one portion, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        cap = money(cafe, self.cap_cents)
        return f"No {dish_word(self.course)} takes more than {cap} of ingredients a portion."

    def faults(self, cafe: Cafe) -> list[str]:
        return course_faults(cafe, self.course)

    def add_to(self, model: Rows) -> None:
        costs = Costs(model.week.cafe, model.week.planned_on)
        for dish in sold_dishes(model.week.cafe, self.course):
            over_cents = costs.portion_cents(dish.id) - self.cap_cents
            if over_cents <= MEASURE_TOLERANCE:
                continue
            for day in model.week.open_dates:
                terms = [(v, one * over_cents) for v, one in model.shown(dish.id, day)]
                model.at_most(self, row_key(dish.id, day), terms, 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        costs = Costs(cafe, plan.planned_on)
        breaches = []
        for row in plan.shown:
            over_cents = costs.portion_cents(row.dish) - self.cap_cents
            if self.course in (None, row.course) and over_cents > MEASURE_TOLERANCE:
                text = (
                    f"a portion of {cafe.name_of(row.dish)} on {on(row.date)} costs "
                    f"{money(cafe, over_cents)} more than {money(cafe, self.cap_cents)}"
                )
                breaches.append(self.breach(text, over_cents, row.date, row.dish))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.cap_cents, LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        cap = money(cafe, self.cap_cents)
        return [
            (
                f"let {named(cafe, b)} cost {money(cafe, self.cap_cents + up_to(b.amount, 1))} "
                f"a portion instead of at most {cap}",
                b.day,
            )
            for b in breaches
        ]


class FoodCostPct(Rule):
    """The food cooked for sale costs no more than a share of what it should earn.

    Over all cook runs ρ of the week:
        Σ_ρ (portions[ρ]·cost[r] − pct/100 · takings[ρ])·z[ρ] ≤ 0   (cents)
    Cooked components count inside the recipes they go into, not again.
    """

    kind: Literal["food_cost_pct"] = "food_cost_pct"
    title: ClassVar[str] = "Food cost of the week"
    unit: ClassVar[str] = "cent over"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "30.00 of food for takings of 100.00, 30 %"
    broken: ClassVar[str] = "35.00 of food: broken by 500"

    pct: float = Field(
        default=30.0,
        gt=0.0,
        le=100.0,
        description="percent of the week's expected takings that the food sold may cost",
    )

    def describe(self, cafe: Cafe) -> str:
        return (
            f"The food cooked for sale costs at most {plain(self.pct)} % "
            "of the week's expected takings."
        )

    def add_to(self, model: Rows) -> None:
        costs = Costs(model.week.cafe, model.week.planned_on)
        terms = model.run_terms(
            (
                run,
                run.portions * costs.portion_cents(run.dish) - run.takings_cents * self.pct / 100,
            )
            for run in model.runs
        )
        model.at_most(self, "week", terms, 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Adds up the week board against the plan's own takings."""
        costs = Costs(cafe, plan.planned_on)
        food_cents = sum(row.portions * costs.portion_cents(row.dish) for row in plan.shown)
        takings_cents = plan.terms_cents["takings"]
        over_cents = food_cents - takings_cents * self.pct / 100
        if over_cents <= MEASURE_TOLERANCE:
            return []
        text = (
            f"food for {money(cafe, food_cents)} is {money(cafe, over_cents)} more than "
            f"{plain(self.pct)} % of {money(cafe, takings_cents)}"
        )
        return [self.breach(text, over_cents)]

    def share(self, week: Week) -> float:
        return 1 / max(self.pct / 100 * full_takings_cents(week), LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        over_cents = sum(breach.amount for breach in breaches)
        takings_cents = plan.terms_cents["takings"]
        text = f"{money(cafe, up_to(over_cents, CENTS_UP_TO))} more of food"
        if takings_cents > 0:
            pct = up_to(self.pct + 100 * over_cents / takings_cents + 0.01, PCT_UP_TO)
            asked = f"{plain(pct)} % of the takings for food instead of {plain(self.pct)} %"
            text = f"{asked} ({text})"
        return [(text, None)]


class PurchaseBudget(Rule):
    """The week's purchases stay within a budget.

    Σ price · packs of fresh things + Σ cost per gram · grams used of dry goods bought
        ≤ budget_cents
    What is left of a dry pack waits on the shelf and is not this week's spending.
    """

    kind: Literal["purchase_budget"] = "purchase_budget"
    title: ClassVar[str] = "Budget for purchases"
    unit: ClassVar[str] = "cent over"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "6 packs of 10.00, budget 60.00"
    broken: ClassVar[str] = "7 packs: broken by 1000"

    budget_cents: int = Field(
        ge=0, le=1_000_000_000, description="cents of purchases a week's plan, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        return (
            f"The week's purchases cost at most {money(cafe, self.budget_cents)}, delivery fees "
            "aside; dry goods count by what the week uses of them."
        )

    def add_to(self, model: Rows) -> None:
        model.at_most(self, "week", model.spend(), self.budget_cents)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Pays every order in full, then takes back what stays in dry packs."""
        spent_cents = float(sum(buy.cost_cents for buy in plan.buys))
        used_g: dict[str, float] = defaultdict(float)
        for use in plan.uses:
            used_g[use.lot] += use.grams
        bought: dict[str, list[Buy]] = defaultdict(list)
        for buy in plan.buys:
            if is_dry(cafe.ingredients[buy.ingredient]):
                bought[f"bought-{buy.deliver_on}-{buy.supplier}-{buy.ingredient}"].append(buy)
        for lot, buys in bought.items():
            grams = sum(buy.packs * _pack_g(buy, cafe) for buy in buys)
            unused = max(0.0, 1 - used_g[lot] / grams) if grams else 0.0
            spent_cents -= sum(buy.cost_cents for buy in buys) * unused
        over_cents = spent_cents - self.budget_cents
        if over_cents <= MEASURE_TOLERANCE:
            return []
        text = f"purchases of {money(cafe, spent_cents)} are {money(cafe, over_cents)} over"
        return [self.breach(f"{text} {money(cafe, self.budget_cents)}", over_cents)]

    def share(self, week: Week) -> float:
        return 1 / max(self.budget_cents, LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        more = up_to(sum(breach.amount for breach in breaches), CENTS_UP_TO)
        was, now = money(cafe, self.budget_cents), money(cafe, self.budget_cents + more)
        return [(f"{money(cafe, more)} more for purchases ({now} instead of {was})", None)]


def full_takings_cents(week: Week) -> float:
    """Takings if every guest expected takes what guests take."""
    a_guest = sum(course.price_cents * course.take_up for course in week.cafe.courses.values())
    return a_guest * sum(week.cafe.cover_on(day).expected for day in week.open_dates)


def _pack_g(buy: Buy, cafe: Cafe) -> float:
    """Grams in one pack of a purchase; 0 if the cafe has no such offer."""
    return next(
        (
            offer.pack_g
            for offer in cafe.offers_of.get(buy.ingredient, ())
            if (offer.supplier, offer.pack_unit) == (buy.supplier, buy.pack_unit)
            and isclose(offer.pack_qty, buy.pack_qty)
        ),
        0.0,
    )


RULES: tuple[type[Rule], ...] = (PortionCostCap, FoodCostPct, PurchaseBudget)
