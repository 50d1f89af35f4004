"""A guest's plate (`[plate]` of cafe.toml: so many dishes of each course) and its cost."""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe
from optimiser.costs import Costs
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.words import (
    LEAST_CENTS,
    MEASURE_TOLERANCE,
    course_faults,
    dish_word,
    money,
    on,
    row_key,
    up_to,
)
from optimiser.week import Week, open_dates


def plate_words(cafe: Cafe) -> str:
    """What a plate takes: `2 salad dishes and 1 main dish`."""
    picks = (f"{k} {dish_word(c, k)}" for c, k in cafe.plate.items() if k)
    return " and ".join(picks) or "nothing"


def plate_faults(cafe: Cafe) -> list[str]:
    """Why a rule about plates does not fit this cafe."""
    found = []
    if not any(cafe.plate.values()):
        found.append("cafe.toml has no [plate]: say how many dishes of each course a plate has")
    for course, picked in cafe.plate.items():
        if faults := course_faults(cafe, course):
            found += faults
        elif picked > (slots := cafe.courses[course].slots):
            found.append(f"a plate has {picked} of course {course!r}, which has {slots} places")
    return found


class PlateCostCap(Rule):
    """The ingredients of a guest's plate do not cost too much.

    A plate takes k[c] different dishes of each course c. For each open day t, with
    m[r] the ingredients of a portion in cents, m⁻ and m⁺ the least and most in course c:
        average plate:  Σ_c k[c]/slots[c] · Σ_{r in c} m[r]·shown[r,t] ≤ most_cents
        dearest plate:  Σ_c (k[c]·θ[c,t] + Σ_{r in c} d[r,t]) ≤ most_cents
        d[r,t] ≥ m[r] − θ[c,t] − (m[r] − m⁻)·(1 − shown[r,t])   (always hard)
        m⁻ ≤ θ ≤ m⁺,  d ≥ 0;  only dishes with m[r] > m⁻ need a d.
    Why: let R be the dishes shown, s₁ ≥ s₂ ≥ … their costs, |R| ≥ k. A dish not shown
    needs d ≥ m⁻ − θ only, which is ≤ 0, so its d can be 0; one shown has
    d = max(0, m[r] − θ) at best. Then k·θ + Σ_R max(0, m[r] − θ)
    ≥ Σ_{i≤k} (θ + max(0, sᵢ − θ)) = Σ_{i≤k} max(θ, sᵢ) ≥ Σ_{i≤k} sᵢ for every θ, and
    θ = s_k gives equality: dishes beyond the k-th then have m[r] − θ ≤ 0. So the best
    θ and d make the left side the sum of the k largest, and θ stays in [m⁻, m⁺].
    """

    kind: Literal["plate_cost_cap"] = "plate_cost_cap"
    title: ClassVar[str] = "Cost of a plate"
    unit: ClassVar[str] = "cent a plate"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "plate of 1, dishes of 50 and 90 cents, average at most 70"
    broken: ClassVar[str] = "the dearest at most 70: broken by 20"

    most_cents: int = Field(
        ge=1, le=1_000_000, description="cents of ingredients on one plate, at most"
    )
    plate: Literal["average", "dearest"] = Field(
        default="average",
        description="average: the mean over the dishes shown; dearest: whatever a guest picks",
    )

    def describe(self, cafe: Cafe) -> str:
        which = "whatever a guest picks" if self.plate == "dearest" else "on average"
        return (
            f"A plate of {plate_words(cafe)} takes at most {money(cafe, self.most_cents)} "
            f"of ingredients {which}."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        return plate_faults(cafe)

    def add_to(self, model: Rows) -> None:
        costs = _portion_cents(model.week.cafe, model.week.planned_on)
        if self.plate == "average":
            self._add_average(model, costs)
        else:
            self._add_dearest(model, costs)

    def _add_average(self, model: Rows, costs: dict[str, dict[str, float]]) -> None:
        cafe = model.week.cafe
        for day in model.week.open_dates:
            terms = [
                (variable, one * cents * cafe.plate[course] / cafe.courses[course].slots)
                for course, cents_of in costs.items()
                for dish, cents in cents_of.items()
                for variable, one in model.shown(dish, day)
            ]
            model.at_most(self, row_key("average", day), terms, self.most_cents)

    def _add_dearest(self, model: Rows, costs: dict[str, dict[str, float]]) -> None:
        plate = model.week.cafe.plate
        most = sum(sum(sorted(c.values())[-plate[course] :]) for course, c in costs.items())
        if most <= self.most_cents:
            return  # even the dearest dishes of the book make such a plate
        for day in model.week.open_dates:
            terms = []
            for course, cents_of in costs.items():
                low, high = min(cents_of.values()), max(cents_of.values())
                theta = model.continuous(f"level__{row_key(course, day)}", low, high)
                terms.append((theta, float(plate[course])))
                for dish, cents in cents_of.items():
                    shown = [(v, one * (cents - low)) for v, one in model.shown(dish, day)]
                    if cents == low or not shown:
                        continue
                    key = row_key(dish, day)
                    above = model.continuous(f"above__{key}", 0, high - low)
                    terms.append((above, 1.0))
                    model.define(self, key, [(theta, -1), (above, -1), *shown], -low)
            model.at_most(self, row_key("dearest", day), terms, self.most_cents)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Picks the dearest plate dish by dish, or takes the mean of what is really shown."""
        costs = Costs(cafe, plan.planned_on)
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            have = 0.0
            for course, picked in cafe.plate.items():
                cents = sorted(map(costs.portion_cents, plan.dishes_on(day, course)), reverse=True)
                if self.plate == "dearest":
                    have += sum(cents[:picked])
                else:
                    have += picked * sum(cents) / max(len(cents), 1)
            over = have - self.most_cents
            if over > MEASURE_TOLERANCE:
                text = f"the {self.plate} plate on {on(day)} takes {money(cafe, have)} of "
                text += f"ingredients, {money(cafe, over)} over"
                breaches.append(self.breach(text, over, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.most_cents, LEAST_CENTS)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        most = money(cafe, self.most_cents)
        phrases: list[Phrase] = []
        for breach in breaches:
            now = money(cafe, self.most_cents + up_to(breach.amount, 1))
            text = f"{now} of ingredients on the {self.plate} plate instead of {most}"
            phrases.append((text, breach.day))
        return phrases


def _portion_cents(cafe: Cafe, day: date) -> dict[str, dict[str, float]]:
    """Course on the plate -> dish -> cents of ingredients in a portion."""
    costs = Costs(cafe, day)
    found = {
        course: {dish.id: costs.portion_cents(dish.id) for dish in sold_dishes(cafe, course)}
        for course, picked in cafe.plate.items()
        if picked
    }
    return {course: cents for course, cents in found.items() if cents}
