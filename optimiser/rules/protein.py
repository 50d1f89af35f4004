"""Rules about protein, counted from what is known of the ingredients."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.plates import plate_faults, plate_words
from optimiser.rules.words import (
    COUNT_TOLERANCE,
    COURSE,
    MEASURE_TOLERANCE,
    PROTEIN_DOWN_TO_G,
    course_faults,
    dish_word,
    on,
    plain,
    row_key,
    up_to,
)
from optimiser.week import Week, open_dates


class ProteinDishes(Rule):
    """Each day offers dishes with a good portion of protein.

    For each open day t, with p[r] grams of known protein in a portion of r:
        Σ_{r of the course with p[r] ≥ protein_g} shown[r,t] ≥ dishes
    """

    kind: Literal["protein_dishes"] = "protein_dishes"
    title: ClassVar[str] = "Dishes with protein"
    unit: ClassVar[str] = "missing dish"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "one main of 25 g on Monday, 1 dish of 20 g"
    broken: ClassVar[str] = "only one of 15 g: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    dishes: int = Field(default=1, ge=1, le=50, description="such dishes each day, at least")
    protein_g: float = Field(
        default=15.0, gt=0.0, le=100.0, description="grams of protein in a portion, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        verb = "has" if self.dishes == 1 else "have"
        return (
            f"Each day at least {self.dishes} {dish_word(self.course, self.dishes)} {verb} "
            f"{plain(self.protein_g)} g of protein a portion or more; unknown protein counts as 0."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        courses = [cafe.courses[self.course]] if self.course else cafe.courses.values()
        slots = sum(course.slots for course in courses)
        if self.dishes > slots:
            return [f"{self.dishes} dishes are asked for, but there are {slots} places"]
        if (rich := len(self._rich(cafe))) < self.dishes:
            return [
                f"{self.dishes} dishes with {plain(self.protein_g)} g are asked for, "
                f"but only {rich} have as much known protein"
            ]
        return []

    def _rich(self, cafe: Cafe) -> list[str]:
        return [
            dish.id
            for dish in sold_dishes(cafe, self.course)
            if nutrition.protein_g(cafe, dish.id) >= self.protein_g - COUNT_TOLERANCE
        ]

    def add_to(self, model: Rows) -> None:
        rich = self._rich(model.week.cafe)
        for day in model.week.open_dates:
            terms = [term for dish in rich for term in model.shown(dish, day)]
            model.at_least(self, row_key("protein", day), terms, self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            grams = sorted(
                (nutrition.protein_g(cafe, dish) for dish in plan.dishes_on(day, self.course)),
                reverse=True,
            )
            short = self.dishes
            while short and grams and grams.pop(0) >= self.protein_g - COUNT_TOLERANCE:
                short -= 1
            if short:
                rich = f"dishes with {plain(self.protein_g)} g of protein"
                text = f"{on(day)} is {short} short of {rich}"
                breaches.append(self.breach(text, short, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.dishes

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for breach in breaches:
            number = self.dishes - round(breach.amount)
            some = f"{number or 'no'} {dish_word(self.course, number)}"
            text = f"{some} with {plain(self.protein_g)} g of protein instead of {self.dishes}"
            phrases.append((text, breach.day))
        return phrases


class PlateProtein(Rule):
    """A guest's plate has enough protein, even if the guest picks the leanest dishes.

    A plate takes k[c] different dishes of each course c. For each open day t, with
    p[r] grams of known protein in a portion, p⁻ and p⁺ the least and most in course c:
        average plate:  Σ_c k[c]/slots[c] · Σ_{r in c} p[r]·shown[r,t] ≥ average_g
        leanest plate:  Σ_c (k[c]·θ[c,t] − Σ_{r in c} d[r,t]) ≥ worst_g
        d[r,t] ≥ θ[c,t] − p[r] − (p⁺ − p[r])·(1 − shown[r,t])   (always hard)
        p⁻ ≤ θ ≤ p⁺,  d ≥ 0;  only dishes with p[r] < p⁺ need a d.
    Why: let R be the dishes shown, s₁ ≤ s₂ ≤ … their proteins, |R| ≥ k. A dish not
    shown needs d ≥ θ − p⁺ only, which is ≤ 0, so its d can be 0; one shown has
    d = max(0, θ − p[r]) at best. Then k·θ − Σ_R max(0, θ − p[r])
    ≤ Σ_{i≤k} (θ − max(0, θ − sᵢ)) = Σ_{i≤k} min(θ, sᵢ) ≤ Σ_{i≤k} sᵢ for every θ, and
    θ = s_k gives equality: dishes beyond the k-th then have θ − p[r] ≤ 0. So the best
    θ and d make the left side the sum of the k smallest, and θ stays in [p⁻, p⁺].
    """

    kind: Literal["plate_protein"] = "plate_protein"
    title: ClassVar[str] = "Protein on a plate"
    unit: ClassVar[str] = "gram of protein a plate"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "plate of 1, dishes of 10 and 20 g, worst_g 10"
    broken: ClassVar[str] = "worst_g 12: broken by 2"

    worst_g: float | None = Field(
        default=None,
        gt=0.0,
        le=300.0,
        description="grams of protein on the leanest plate a guest can pick, at least; "
        "blank = no limit",
    )
    average_g: float | None = Field(
        default=None,
        gt=0.0,
        le=300.0,
        description="grams of protein on the average plate, at least; blank = no limit",
    )

    def describe(self, cafe: Cafe) -> str:
        limits = []
        if self.worst_g is not None:
            limits.append(f"at least {plain(self.worst_g)} g of protein whatever a guest picks")
        if self.average_g is not None:
            limits.append(f"{plain(self.average_g)} g of protein on average")
        has = " and ".join(limits) or "no limit"
        return f"A plate of {plate_words(cafe)} has {has}; unknown protein counts as 0."

    def faults(self, cafe: Cafe) -> list[str]:
        found = []
        if self.worst_g is None and self.average_g is None:
            found.append("give worst_g, average_g or both")
        return found + plate_faults(cafe)

    def add_to(self, model: Rows) -> None:
        proteins = _proteins(model.week.cafe)
        if self.average_g is not None:
            self._add_average(model, proteins, self.average_g)
        if self.worst_g is not None:
            self._add_worst(model, proteins, self.worst_g)

    def _add_average(
        self, model: Rows, proteins: dict[str, dict[str, float]], average_g: float
    ) -> None:
        cafe = model.week.cafe
        for day in model.week.open_dates:
            terms = [
                (variable, one * grams * cafe.plate[course] / cafe.courses[course].slots)
                for course, grams_of in proteins.items()
                for dish, grams in grams_of.items()
                for variable, one in model.shown(dish, day)
            ]
            model.at_least(self, row_key("average", day), terms, average_g)

    def _add_worst(
        self, model: Rows, proteins: dict[str, dict[str, float]], worst_g: float
    ) -> None:
        plate = model.week.cafe.plate
        leanest_g = sum(sum(sorted(g.values())[: plate[c]]) for c, g in proteins.items())
        if leanest_g >= worst_g:
            return  # even the leanest dishes of the book make such a plate
        for day in model.week.open_dates:
            terms = []
            for course, grams_of in proteins.items():
                low, high = min(grams_of.values()), max(grams_of.values())
                theta = model.continuous(f"level__{row_key(course, day)}", low, high)
                terms.append((theta, float(plate[course])))
                for dish, grams in grams_of.items():
                    if grams == high:
                        continue
                    key = row_key(dish, day)
                    lack = model.continuous(f"lack__{key}", 0, high - low)
                    terms.append((lack, -1.0))
                    shown = [(v, one * (high - grams)) for v, one in model.shown(dish, day)]
                    model.define(self, key, [(theta, 1), (lack, -1), *shown], high)
            model.at_least(self, row_key("worst", day), terms, worst_g)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Picks the leanest plate dish by dish, and the mean of what is really shown."""
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            worst_g = average_g = 0.0
            for course, picked in cafe.plate.items():
                grams = sorted(nutrition.protein_g(cafe, r) for r in plan.dishes_on(day, course))
                worst_g += sum(grams[:picked])
                average_g += picked * sum(grams) / max(len(grams), 1)
            for name, have, least in (
                ("leanest", worst_g, self.worst_g),
                ("average", average_g, self.average_g),
            ):
                if least is not None and (short := least - have) > MEASURE_TOLERANCE:
                    text = f"the {name} plate on {on(day)} has {plain(have)} g of protein, "
                    breaches.append(self.breach(f"{text}{plain(short)} g short", short, day))
        return breaches

    def parts(self) -> tuple[PlateProtein, ...]:
        """The two limits give apart."""
        if self.worst_g is None or self.average_g is None:
            return (self,)
        return (
            self.model_copy(update={"average_g": None}),
            self.model_copy(update={"worst_g": None}),
        )

    def share(self, week: Week) -> float:
        return 1 / (self.worst_g or self.average_g or 1.0)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        """The rule has one limit here: see `parts`."""
        asked = self.worst_g or self.average_g or 0.0
        plate = "leanest" if self.worst_g is not None else "average"
        phrases: list[Phrase] = []
        for breach in breaches:
            have = max(0.0, asked - up_to(breach.amount, PROTEIN_DOWN_TO_G))
            text = f"{plain(have)} g of protein on the {plate} plate instead of {plain(asked)} g"
            phrases.append((text, breach.day))
        return phrases


def _proteins(cafe: Cafe) -> dict[str, dict[str, float]]:
    """Course on the plate -> dish -> grams of known protein in a portion."""
    found = {
        course: {dish.id: nutrition.protein_g(cafe, dish.id) for dish in sold_dishes(cafe, course)}
        for course, picked in cafe.plate.items()
        if picked
    }
    return {course: grams for course, grams in found.items() if grams}


RULES: tuple[type[Rule], ...] = (ProteinDishes, PlateProtein)
