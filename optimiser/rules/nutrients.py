"""Rules about amino acids, salt and fibre, where they are known.

All look at the average plate of a day: k[c] dishes of each course c, each of them the
mean over the course's places. Rows add up dishes; checks weigh the ingredients.
"""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.amino_score import AminoScore
from optimiser.rules.average import (
    average_terms,
    dishes_unknown,
    most_on_average,
    on_plate,
    plate_g,
    unknown_on,
)
from optimiser.rules.base import Phrase, Rows, Rule
from optimiser.rules.plates import plate_faults, plate_words
from optimiser.rules.words import MEASURE_TOLERANCE, on, plain, row_key, up_to
from optimiser.week import Week, open_dates

SALT_UP_TO_G, FIBRE_DOWN_TO_G = 0.1, 0.5
"""What grams in `concede` are rounded to, to the generous side."""

SALT_TOLERANCE_G = 0.001
"""A milligram of salt is rounding; a hundredth of a gram is a good part of a small limit."""


class PlateSalt(Rule):
    """The average plate is not too salty.

    For each open day t, with s[r] grams of known salt in a portion of r (salt = sodium · 2.5):
        Σ_c k[c]/slots[c] · Σ_{r in c} s[r] · shown[r,t] ≤ most_g
    """

    kind: Literal["plate_salt"] = "plate_salt"
    title: ClassVar[str] = "Salt on a plate"
    unit: ClassVar[str] = "gram of salt a plate"
    source: ClassVar[str] = (
        "EU Regulation 1169/2011, Annex I: salt = sodium x 2.5; WHO guideline on sodium (2012): "
        "adults under 5 g of salt a day"
    )
    kept: ClassVar[str] = "plate of 1, dishes of 1 and 2 g of salt, most_g 2"
    broken: ClassVar[str] = "two dishes of 2.5 g: broken by 0.5"

    most_g: float = Field(
        default=3.0, gt=0.0, le=50.0, description="grams of salt on the average plate, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        return (
            f"A plate of {plate_words(cafe)} has at most {plain(self.most_g)} g of salt on "
            f"average; unknown salt counts as 0, {dishes_unknown(cafe, nutrition.salt_unknown)}."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if found := plate_faults(cafe):
            return found
        if all(one.sodium_mg is None for one in cafe.ingredients.values()):
            return ["the column sodium_mg of ingredients.csv is blank for every ingredient"]
        least_g = -most_on_average(cafe, on_plate(cafe, lambda c, r: -nutrition.salt_g(c, r)))
        if least_g > self.most_g + SALT_TOLERANCE_G:
            return [f"the least salty plate of these dishes has {plain(least_g)} g; allow as much"]
        return []

    def add_to(self, model: Rows) -> None:
        salt = on_plate(model.week.cafe, nutrition.salt_g)
        for day in model.week.open_dates:
            terms = average_terms(model, day, salt)
            model.at_most(self, row_key("salt", day), terms, self.most_g)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            have = sum(
                grams * (cafe.ingredients[item].sodium_mg or 0.0) / 100_000
                for item, grams in plate_g(plan, cafe, day).items()
            )
            have *= nutrition.SALT_PER_SODIUM
            if (over := have - self.most_g) > SALT_TOLERANCE_G:
                rest = unknown_on(plan, cafe, day, nutrition.salt_unknown)
                text = f"the average plate on {on(day)} has {plain(have)} g of known salt, "
                breaches.append(self.breach(f"{text}{plain(over)} g over{rest}", over, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.most_g, SALT_UP_TO_G)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for breach in breaches:
            have = plain(self.most_g + up_to(breach.amount, SALT_UP_TO_G))
            text = f"{have} g of salt on the average plate instead of {plain(self.most_g)} g"
            phrases.append((text, breach.day))
        return phrases


class PlateFibre(Rule):
    """The average plate has enough fibre.

    For each open day t, with f[r] grams of known fibre in a portion of r:
        Σ_c k[c]/slots[c] · Σ_{r in c} f[r] · shown[r,t] ≥ least_g
    """

    kind: Literal["plate_fibre"] = "plate_fibre"
    title: ClassVar[str] = "Fibre on a plate"
    unit: ClassVar[str] = "gram of fibre a plate"
    source: ClassVar[str] = "from memory: the WHO asks adults to eat at least 25 g of fibre a day"
    kept: ClassVar[str] = "plate of 1, dishes of 6 and 10 g of fibre, least_g 8"
    broken: ClassVar[str] = "two dishes of 6 g: broken by 2"

    least_g: float = Field(
        default=8.0, gt=0.0, le=200.0, description="grams of fibre on the average plate, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        return (
            f"A plate of {plate_words(cafe)} has at least {plain(self.least_g)} g of fibre on "
            f"average; unknown fibre counts as 0, {dishes_unknown(cafe, nutrition.fibre_unknown)}."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if found := plate_faults(cafe):
            return found
        if all(one.fibre_g is None for one in cafe.ingredients.values()):
            return ["the column fibre_g of ingredients.csv is blank for every ingredient"]
        most_g = most_on_average(cafe, on_plate(cafe, nutrition.fibre_g))
        if most_g < self.least_g - MEASURE_TOLERANCE:
            return [f"no plate of these dishes has more than {plain(most_g)} g; ask for less"]
        return []

    def add_to(self, model: Rows) -> None:
        fibre = on_plate(model.week.cafe, nutrition.fibre_g)
        for day in model.week.open_dates:
            terms = average_terms(model, day, fibre)
            model.at_least(self, row_key("fibre", day), terms, self.least_g)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            have = sum(
                grams * (cafe.ingredients[item].fibre_g or 0.0) / 100
                for item, grams in plate_g(plan, cafe, day).items()
            )
            if (short := self.least_g - have) > MEASURE_TOLERANCE:
                rest = unknown_on(plan, cafe, day, nutrition.fibre_unknown)
                text = f"the average plate on {on(day)} has {plain(have)} g of known fibre, "
                breaches.append(self.breach(f"{text}{plain(short)} g short{rest}", short, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(self.least_g, FIBRE_DOWN_TO_G)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for breach in breaches:
            have = plain(max(0.0, self.least_g - up_to(breach.amount, FIBRE_DOWN_TO_G)))
            text = f"{have} g of fibre on the average plate instead of {plain(self.least_g)} g"
            phrases.append((text, breach.day))
        return phrases


RULES: tuple[type[Rule], ...] = (AminoScore, PlateSalt, PlateFibre)
