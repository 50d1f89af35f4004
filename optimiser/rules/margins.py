"""Rules about what a plate, a portion and a delivery cost."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe
from optimiser.costs import Costs
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, charge_showings, sold_dishes
from optimiser.rules.plates import PlateCostCap
from optimiser.rules.words import (
    CENTS_UP_TO,
    COURSE,
    LEAST_CENTS,
    MEASURE_TOLERANCE,
    course_faults,
    dish_word,
    money,
    named,
    on,
    row_key,
    unknown,
    up_to,
)
from optimiser.week import Week, is_dry


class PortionMargin(Rule):
    """Dishes that earn too little a portion are not shown.

    For each dish r with margin[r] = price − ingredients of a portion below least_cents,
    and each open day t:
        (least_cents − margin[r]) · shown[r,t] ≤ 0
    """

    kind: Literal["portion_margin"] = "portion_margin"
    title: ClassVar[str] = "Margin of a portion"
    unit: ClassVar[str] = "cent short, per showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "sold at 600, 90 cents of ingredients, least 500"
    broken: ClassVar[str] = "120 cents of ingredients: broken by 20"

    least_cents: int = Field(
        ge=1, le=1_000_000, description="cents of price less ingredients of a portion, at least"
    )
    course: str | None = Field(default=None, description=COURSE)

    def describe(self, cafe: Cafe) -> str:
        least = money(cafe, self.least_cents)
        return (
            f"A portion of every {dish_word(self.course)} in the cabinet is sold for at least "
            f"{least} more than its ingredients cost."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        for course in [self.course] if self.course else cafe.courses:
            prices = [cafe.price_cents(dish) for dish in sold_dishes(cafe, course)]
            hard = self.price_cents is None and cafe.courses[course].slots
            if hard and prices and max(prices) < self.least_cents:
                top = money(cafe, max(prices))
                return [
                    f"no {dish_word(course)} is sold for more than {top}: lower least_cents, "
                    "name another course or give the rule a price_cents"
                ]
        return []

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        costs = Costs(cafe, model.week.planned_on)
        short_cents = {}
        for dish in sold_dishes(cafe, self.course):
            margin_cents = cafe.price_cents(dish) - costs.portion_cents(dish.id)
            if (short := self.least_cents - margin_cents) > MEASURE_TOLERANCE:
                short_cents[dish.id] = short
        charge_showings(model, self, short_cents)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        costs = Costs(cafe, plan.planned_on)
        breaches = []
        for row in plan.shown:
            if self.course not in (None, row.course):
                continue
            price_cents = cafe.price_cents(cafe.dishes[row.dish])
            wanted_cents = costs.portion_cents(row.dish) + self.least_cents
            if (short := wanted_cents - price_cents) > MEASURE_TOLERANCE:
                text = (
                    f"a portion of {cafe.name_of(row.dish)} on {on(row.date)} sells for "
                    f"{money(cafe, price_cents)}, {money(cafe, short)} too little"
                )
                breaches.append(self.breach(text, short, row.date, row.dish))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.least_cents, LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        least = money(cafe, self.least_cents)
        phrases: list[Phrase] = []
        for breach in breaches:
            now = money(cafe, self.least_cents - up_to(breach.amount, 1))
            text = f"let {named(cafe, breach)} earn {now} a portion instead of at least {least}"
            phrases.append((text, breach.day))
        return phrases


class DeliveryBudget(Rule):
    """No delivery costs too much, dry goods aside.

    For each supplier k meant and each day t on which its van can come:
        Σ price · packs of fresh and whole things ≤ budget_cents
    Dry goods are planned by the gram, and which delivery brings their packs is decided
    afterwards: they are left aside.
    """

    kind: Literal["delivery_budget"] = "delivery_budget"
    title: ClassVar[str] = "Budget for a delivery"
    unit: ClassVar[str] = "cent over, per delivery"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "6 packs of 10.00 on Monday and 6 on Wednesday, budget 60.00"
    broken: ClassVar[str] = "7 packs on Monday: broken by 1000"
    lumpy: ClassVar[bool] = True

    budget_cents: int = Field(
        ge=0, le=1_000_000_000, description="cents of fresh and whole things a delivery, at most"
    )
    supplier: str | None = Field(
        default=None, description="id of the supplier; blank = each supplier by itself"
    )

    def describe(self, cafe: Cafe) -> str:
        who = "a supplier" if self.supplier is None else _name(cafe, self.supplier)
        return (
            f"Each delivery from {who} brings fresh and whole things for at most "
            f"{money(cafe, self.budget_cents)}; dry goods and delivery fees are left aside."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if self.supplier is None or self.supplier in cafe.suppliers:
            return []
        return [unknown("supplier", self.supplier, cafe.suppliers)]

    def add_to(self, model: Rows) -> None:
        for supplier in model.week.cafe.suppliers.values():
            if self.supplier not in (None, supplier.id):
                continue
            for day in model.week.deliveries(supplier):
                terms = model.spend(day, supplier.id, fresh_only=True)
                if terms:
                    model.at_most(self, row_key(supplier.id, day), terms, self.budget_cents)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Adds up each van's order sheet."""
        breaches = []
        for (supplier, day), cents in sorted(self._fresh_cents(plan, cafe).items()):
            if (over := cents - self.budget_cents) > MEASURE_TOLERANCE:
                text = f"{_name(cafe, supplier)} on {on(day)} brings fresh and whole things for "
                text += f"{money(cafe, cents)}, {money(cafe, over)} over"
                breaches.append(self.breach(text, over, day))
        return breaches

    def _fresh_cents(self, plan: Plan, cafe: Cafe) -> dict[tuple[str, date], int]:
        found: dict[tuple[str, date], int] = defaultdict(int)
        for buy in plan.buys:
            meant = self.supplier in (None, buy.supplier)
            if meant and not is_dry(cafe.ingredients[buy.ingredient]):
                found[buy.supplier, buy.deliver_on] += buy.cost_cents
        return found

    def share(self, week: Week) -> float:
        return 1 / max(self.budget_cents, LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        was = money(cafe, self.budget_cents)
        phrases: list[Phrase] = []
        for (supplier, day), cents in sorted(self._fresh_cents(plan, cafe).items()):
            if any(b.day == day and b.amount == cents - self.budget_cents for b in breaches):
                more = up_to(cents - self.budget_cents, CENTS_UP_TO)
                text = f"{money(cafe, self.budget_cents + more)} for a delivery from "
                phrases.append((f"{text}{_name(cafe, supplier)} instead of {was}", day))
        return phrases


def _name(cafe: Cafe, supplier: str) -> str:
    """A supplier's name."""
    return cafe.suppliers[supplier].name if supplier in cafe.suppliers else supplier


RULES: tuple[type[Rule], ...] = (PlateCostCap, PortionMargin, DeliveryBudget)
