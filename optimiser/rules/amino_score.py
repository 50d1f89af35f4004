"""The rule about the amino acids of the average plate."""

from __future__ import annotations

import math
from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import amino, nutrition
from optimiser.cafe import AMINO_ACIDS, Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.average import (
    OnPlate,
    average_terms,
    dishes_unknown,
    most_on_average,
    on_plate,
    plate_g,
    unknown_on,
)
from optimiser.rules.base import Phrase, Rows, Rule
from optimiser.rules.plates import plate_faults, plate_words
from optimiser.rules.words import MEASURE_TOLERANCE, on, plain, row_key
from optimiser.table_schema import AMINO_COLUMNS
from optimiser.week import Week, open_dates

Acid = Literal["his", "ile", "leu", "lys", "saa", "aaa", "thr", "trp", "val"]

LEAST_SCORE = 0.1
SCORE_STEPS = 100
"""In `concede` a score is rounded down to so many steps of 1."""


class AminoScore(Rule):
    """The protein of the average plate has enough of every indispensable amino acid.

    For each open day t and amino acid a, with a[r] known milligrams of it and p[r] grams of
    known protein in a portion of r, and pattern[a] the milligrams asked for in a gram:
        Σ_c k[c]/slots[c] · Σ_{r in c} (a[r] − score · pattern[a] · p[r]) · shown[r,t] ≥ 0
    So the least ratio of the plate to the pattern, its score, is at least `score`.
    Digestibility is not counted.
    """

    kind: Literal["amino_score"] = "amino_score"
    title: ClassVar[str] = "Amino acids on a plate"
    unit: ClassVar[str] = "milligram of an amino acid a plate"
    source: ClassVar[str] = (
        "FAO Food and Nutrition Paper 92 (2013), Table 5; WHO/FAO/UNU 2007, Technical Report "
        "Series 935, as a secondary source gives it"
    )
    kept: ClassVar[str] = "10 g of protein with 480 mg of lysine, pattern 48, score 1"
    broken: ClassVar[str] = "10 g of protein with 400 mg of lysine: broken by 80"

    pattern: Literal["fao_2013_adult", "fao_2013_child", "who_2007_adult"] = Field(
        default="fao_2013_adult",
        description="published scoring pattern; fao_2013_adult: over 3 years, "
        "fao_2013_child: half a year to 3 years",
    )
    score: float = Field(
        default=1.0,
        ge=LEAST_SCORE,
        le=1.5,
        description="least ratio of the plate's protein to the pattern; 1 = all that it asks for",
    )
    acids: tuple[Acid, ...] = Field(
        default=(),
        max_length=9,
        description="amino acids looked at; empty = every one of the pattern",
    )

    def describe(self, cafe: Cafe) -> str:
        return (
            f"The average plate of {plate_words(cafe)} has an amino-acid score of at least "
            f"{plain(self.score)} for {self._acid_words()} ({amino.PATTERN_WORDS[self.pattern]}); "
            "unknown amino acids count as none and food of unknown protein as nothing at all, "
            f"{dishes_unknown(cafe, self._unknown)}."
        )

    def _acid_words(self) -> str:
        if len(self._asked()) == len(amino.ACID_WORDS):
            return "all amino acids"
        return " and ".join(amino.ACID_WORDS[acid] for acid in self._asked())

    def _asked(self) -> dict[str, float]:
        """Milligrams asked for in a gram of protein, at this score, by amino acid."""
        pattern = amino.PATTERNS[self.pattern]
        return {
            a: self.score * mg for a, mg in pattern.items() if not self.acids or a in self.acids
        }

    def _unknown(self, cafe: Cafe, dish: str) -> tuple[str, ...]:
        return amino.amino_unknown(cafe, dish, self._asked())

    def _excess(self, cafe: Cafe, acid: str) -> OnPlate:
        """Milligrams in a portion beyond what its protein asks for."""
        asked = self._asked()[acid]

        def excess_mg(cafe: Cafe, dish: str) -> float:
            return amino.amino_mg(cafe, dish)[acid] - asked * nutrition.protein_g(cafe, dish)

        return on_plate(cafe, excess_mg)

    def faults(self, cafe: Cafe) -> list[str]:
        if found := plate_faults(cafe):
            return found
        known = {a for one in cafe.ingredients.values() for a in one.amino_mg_per_g_protein}
        if blank := [AMINO_COLUMNS[acid] for acid in self._asked() if acid not in known]:
            word, verb = ("column", "is") if len(blank) == 1 else ("columns", "are")
            return [
                f"the {word} {', '.join(blank)} of ingredients.csv {verb} blank for every "
                "ingredient; fill in what is known, or name the amino acids to look at in acids"
            ]
        poor = [
            amino.ACID_WORDS[acid]
            for acid in self._asked()
            if most_on_average(cafe, self._excess(cafe, acid)) < -MEASURE_TOLERANCE
        ]
        if poor:
            return [f"no plate of these dishes reaches {plain(self.score)} for {', '.join(poor)}"]
        return []

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        for acid in self._asked():
            excess = self._excess(cafe, acid)
            if all(mg >= 0 for of_dish in excess.values() for mg in of_dish.values()):
                continue  # no dish is short of it, so no plate is
            for day in model.week.open_dates:
                terms = average_terms(model, day, excess)
                model.at_least(self, row_key(acid, day), terms, 0.0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            protein_g, have_mg = _plate_protein(plan, cafe, day)
            for acid, asked in self._asked().items():
                short = asked * protein_g - have_mg[acid]
                if short > MEASURE_TOLERANCE:
                    text = (
                        f"the average plate on {on(day)} has {plain(have_mg[acid])} mg of known "
                        f"{amino.ACID_WORDS[acid]} in {plain(protein_g)} g of protein, "
                        f"{plain(short)} mg short{unknown_on(plan, cafe, day, self._unknown)}"
                    )
                    breaches.append(self.breach(text, short, day))
        return breaches

    def share(self, week: Week) -> float:
        """Over a middling amino acid of the pattern in the protein of a middling plate."""
        asked = sum(self._asked().values()) / len(self._asked())
        grams = on_plate(week.cafe, nutrition.protein_g)
        plate_g = sum(week.cafe.plate[c] * sum(g.values()) / len(g) for c, g in grams.items())
        return 1 / (asked * max(plate_g, 1.0))

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        """The score that the plate of each day reaches, rounded down."""
        pattern = {acid: asked / self.score for acid, asked in self._asked().items()}
        phrases: list[Phrase] = []
        for day in dict.fromkeys(breach.day for breach in breaches if breach.day):
            protein_g, have_mg = _plate_protein(plan, cafe, day)
            found = amino.lowest_ratio(have_mg, protein_g, pattern)
            reached = math.floor(found.value * SCORE_STEPS + 1e-6) / SCORE_STEPS if found else 0.0
            if found is None or reached < LEAST_SCORE:
                phrases.append(("let the plate go without an amino-acid score", day))
                continue
            least = amino.ACID_WORDS[found.limiting]
            phrases.append(
                (
                    f"an amino-acid score of {plain(reached)}, by its {least}, "
                    f"instead of {plain(self.score)}",
                    day,
                )
            )
        return phrases


def _plate_protein(plan: Plan, cafe: Cafe, day: date) -> tuple[float, dict[str, float]]:
    """Known protein of the average plate, grams, and milligrams of each amino acid in it."""
    protein_g, have_mg = 0.0, dict.fromkeys(AMINO_ACIDS, 0.0)
    for item, grams in plate_g(plan, cafe, day).items():
        ingredient = cafe.ingredients[item]
        of_item_g = grams * (ingredient.protein_g or 0.0) / 100
        protein_g += of_item_g
        for acid, mg_per_g in ingredient.amino_mg_per_g_protein.items():
            have_mg[acid] += of_item_g * mg_per_g
    return protein_g, have_mg
