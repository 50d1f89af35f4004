"""Rules about what food costs."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from optimiser import demand
from optimiser.cafe import Cafe
from optimiser.costs import Costs
from optimiser.plan import Breach, Buy, Plan
from optimiser.rules.amounts import pack_g
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, Terms, charge_showings, sold_dishes
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

if TYPE_CHECKING:
    from optimiser.runs import Run


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
        over_cents = {
            dish.id: over
            for dish in sold_dishes(model.week.cafe, self.course)
            if (over := costs.portion_cents(dish.id) - self.cap_cents) > MEASURE_TOLERANCE
        }
        charge_showings(model, self, over_cents)

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

    Over all cook runs ρ of the week, or by day over those cooked on open day t:
        Σ_ρ (portions[ρ]·cost[r] − pct/100 · takings[ρ])·z[ρ] ≤ 0   (cents)
    Cooked components count inside the recipes they go into, not again.
    """

    kind: Literal["food_cost_pct"] = "food_cost_pct"
    title: ClassVar[str] = "Food cost"
    unit: ClassVar[str] = "cent over"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "30.00 of food for takings of 100.00, 30 %"
    broken: ClassVar[str] = "35.00 of food: broken by 500"

    pct: float = Field(
        default=30.0,
        gt=0.0,
        le=100.0,
        description="percent of the expected takings that the food sold may cost",
    )
    by: Literal["week", "day"] = Field(
        default="week", description="week: all cooks together; day: each day's cooks by themselves"
    )

    def describe(self, cafe: Cafe) -> str:
        if self.by == "day":
            return (
                "The food cooked for sale on a day, for whichever days it is shown, costs at most "
                f"{plain(self.pct)} % of what it is expected to take."
            )
        return (
            f"The food cooked for sale costs at most {plain(self.pct)} % "
            "of the week's expected takings."
        )

    def add_to(self, model: Rows) -> None:
        if self.by == "week":
            model.at_most(self, "week", self._over(model, model.runs), 0)
            return
        for day in model.week.open_dates:
            cooked = [run for run in model.runs if run.cook_day == day]
            model.at_most(self, row_key("food", day), self._over(model, cooked), 0)

    def _over(self, model: Rows, runs: Iterable[Run]) -> Terms:
        """Cents of food beyond the share of takings."""
        costs = Costs(model.week.cafe, model.week.planned_on)
        return model.run_terms(
            (
                run,
                run.portions * costs.portion_cents(run.dish) - run.takings_cents * self.pct / 100,
            )
            for run in runs
        )

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Adds up the board: against the plan's own takings, or by day against what the
        guests expected should take of that day's cooks."""
        costs = Costs(cafe, plan.planned_on)
        takings_cents = self._takings_cents(plan, cafe)
        food_cents = dict.fromkeys(takings_cents, 0.0)
        for row in plan.shown:
            day = row.cooked_on if self.by == "day" else None
            food_cents[day] += row.portions * costs.portion_cents(row.dish)
        breaches = []
        for day, food in food_cents.items():
            over_cents = food - takings_cents[day] * self.pct / 100
            if over_cents > MEASURE_TOLERANCE:
                text = (
                    f"food for {money(cafe, food)} is {money(cafe, over_cents)} more than "
                    f"{plain(self.pct)} % of {money(cafe, takings_cents[day])}"
                )
                when = f", cooked on {on(day)}" if day else ""
                breaches.append(self.breach(text + when, over_cents, day))
        return breaches

    def _takings_cents(self, plan: Plan, cafe: Cafe) -> dict[date | None, int]:
        """Expected takings by cook day, or those of the week under None."""
        if self.by == "week":
            return {None: plan.terms_cents["takings"]}
        return takings_by_cook_day(plan, cafe)

    def share(self, week: Week) -> float:
        days = len(week.open_dates) if self.by == "day" else 1
        return 1 / max(self.pct / 100 * full_takings_cents(week) / days, LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        takings_cents = self._takings_cents(plan, cafe)
        phrases: list[Phrase] = []
        for breach in breaches:
            text = f"{money(cafe, up_to(breach.amount, CENTS_UP_TO))} more of food"
            if takings := takings_cents.get(breach.day, 0):
                pct = up_to(self.pct + 100 * breach.amount / takings + 0.01, PCT_UP_TO)
                asked = f"{plain(pct)} % of the takings for food instead of {plain(self.pct)} %"
                text = f"{asked} ({text})"
            phrases.append((text, breach.day))
        return phrases


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
    lumpy: ClassVar[bool] = True

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
            grams = sum(buy.packs * pack_g(buy, cafe) for buy in buys)
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


def takings_by_cook_day(plan: Plan, cafe: Cafe) -> dict[date | None, int]:
    """Cents that each day's cooks should take: of each cook what the guests expected on
    the days it is shown take of its portions, down to a cent."""
    offered: dict[tuple[str, date], dict[date, int]] = defaultdict(dict)
    for row in plan.shown:
        offered[row.dish, row.cooked_on][row.date] = row.portions
    cents: dict[date | None, int] = defaultdict(int)
    for (dish_id, cook_day), portions in offered.items():
        dish = cafe.dishes[dish_id]
        sold = 0.0
        if dish.course in cafe.courses:  # else no guest can have it, as the verifier says
            wanted = demand.of_dish(cafe, dish, portions)
            sold = demand.expected_sold(wanted, sum(portions.values()))
        cents[cook_day] += math.floor(cafe.price_cents(dish) * sold + 1e-6)
    return cents


RULES: tuple[type[Rule], ...] = (PortionCostCap, FoodCostPct, PurchaseBudget)
