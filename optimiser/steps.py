"""One answer of "what if" and "why not": a menu with a few cooks changed, told for people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Cafe
from optimiser.near import Near
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.report_base import day_text, money_text
from optimiser.runs import Run


@dataclass(frozen=True)
class Placed:
    """A cook that comes in or leaves: `portions` of a dish cooked on `day`, shown on `shown`."""

    dish: str
    name: str
    day: date
    shown: tuple[date, ...]
    portions: int

    def words(self) -> str:
        """`20 x Roast squash on Tue 2026-12-01`."""
        days = " and ".join(day_text(day) for day in self.shown)
        return f"{self.portions} x {self.name} on {days}"


@dataclass(frozen=True)
class Step:
    """A menu with at most `changes` cooks of the plan gone.

    `gain_cents` is against the plan's own menu under the same facts; within what was looked at
    no menu gains more than `at_most_cents`. `dishes`: how many dishes could come in; None: all.
    `plan` is verified.
    """

    changes: int
    gain_cents: float
    at_most_cents: float
    enters: tuple[Placed, ...]
    leaves: tuple[Placed, ...]
    dishes: int | None
    plan: Plan

    @property
    def exact(self) -> bool:
        """Whether no menu that was looked at gains a cent more."""
        return self.at_most_cents - self.gain_cents <= 1.0

    def within(self) -> str:
        """What the answer is exact within, as the end of a sentence."""
        if self.changes == 0:
            return "with this menu, the same deliveries and the same cooked parts"
        cooks = "one cook" if self.changes == 1 else f"up to {self.changes} cooks"
        dishes = "any dish" if self.dishes is None else f"the {self.dishes} likeliest dishes"
        return f"changing {cooks}, among {dishes}, with the same deliveries"

    def money(self, currency: str) -> str:
        """`$4.20`, or `$4.20 to $6.00` where it is not proven to the cent."""
        low = money_text(self.gain_cents, currency)
        if self.exact:
            return low
        if self.at_most_cents == float("inf"):
            return f"at least {low}"
        return f"{low} to {money_text(self.at_most_cents, currency)}"


def step_of(near: Nearby, found: Near, changes: int) -> Step:
    """The answer as a verified plan. Raises ValueError if the menu at hand cannot be kept, or
    with the verifier's reason."""
    if near.kept is None:
        raise ValueError("the menu cannot be kept")
    base = near.kept.margin_cents
    cafe = near.week.cafe
    return Step(
        changes=changes,
        gain_cents=found.margin_cents - base,
        at_most_cents=max(found.bound_cents, found.margin_cents) - base,
        enters=tuple(placed(run, cafe) for run in found.enters),
        leaves=tuple(placed(run, cafe) for run in found.leaves),
        dishes=None if found.among is None else len(found.among),
        plan=near.plan_of(found),
    )


def placed(run: Run, cafe: Cafe) -> Placed:
    """A run told for people."""
    return Placed(run.dish, cafe.name_of(run.dish), run.cook_day, run.shown, run.portions)
