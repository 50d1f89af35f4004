"""The shape of a house rule.

A rule is a frozen object: a stable `kind`, a title, parameters with units and
limits, and four verbs. It writes its rows through the small `Rows` protocol and
so never sees a solver; `check` looks at a finished plan only.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, Protocol

from pydantic import Field

from optimiser.cafe import Cafe, Dish, Fact
from optimiser.plan import Breach, Plan

if TYPE_CHECKING:
    from optimiser.runs import Run
    from optimiser.week import Week

Terms = list[tuple[Any, float]]
"""A linear sum: (variable, coefficient) pairs; repeated variables add up."""


class Rows(Protocol):
    """What a rule may ask of the model. Days are dates, amounts plain numbers."""

    week: Week
    runs: tuple[Run, ...]

    def run_terms(self, runs: Iterable[tuple[Run, float]]) -> Terms:
        """Sum of coefficient x (1 if the run is chosen)."""
        ...

    def shown(self, dish: str, day: date) -> Terms:
        """1 if the dish is in the cabinet that day."""
        ...

    def batches(self, dish: str, day: date, per_cook: float, per_portion: float) -> Terms:
        """per_cook x (component cook takes place) + per_portion x its portions."""
        ...

    def continuous(self, name: str, low: float, high: float | None) -> Any:
        """A new helper variable."""
        ...

    def used_from_stock(self, lot: str) -> Terms:
        """Grams taken from a stock lot over the week (whole lots: grams cut)."""
        ...

    def spend(self, day: date | None = None, supplier: str | None = None) -> Terms:
        """Cents of purchases: packs of fresh things, dry goods by the gram used."""
        ...

    def at_most(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        """Row: terms <= bound, or with the rule's price per unit over."""
        ...

    def at_least(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        """Row: terms >= bound, or with the rule's price per unit short."""
        ...

    def define(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        """Row: terms <= bound, always hard: what a helper variable means."""
        ...


class Rule(Fact):
    """Base of all rules. `price_cents` blank: hard; else the price per unit of breach."""

    kind: str
    title: ClassVar[str]
    unit: ClassVar[str]
    """What one unit of breach is, for the price: 'showing', 'minute', 'gram' ..."""

    price_cents: float | None = Field(
        default=None, gt=0, description="price per unit of breach, in cents; blank = never broken"
    )

    @abstractmethod
    def describe(self, cafe: Cafe) -> str:
        """One sentence with the numbers in it, as a chef would say it."""

    @abstractmethod
    def add_to(self, model: Rows) -> None:
        """Add this rule's rows to the model, named rule__item__day."""

    @abstractmethod
    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Breaches in a finished plan, one per row, replayed from plain numbers."""

    def faults(self, cafe: Cafe) -> list[str]:
        """What in the parameters does not fit this cafe (unknown dishes and the like)."""
        return []

    def breach(
        self, text: str, amount: float, day: date | None = None, item: str | None = None
    ) -> Breach:
        """A breach of this rule."""
        return Breach(rule=self.title, text=text, amount=amount, day=day, item=item)


def sold_dishes(cafe: Cafe, course: str | None = None) -> list[Dish]:
    """Dishes that can be in the cabinet: of one course, or of every course with slots."""
    return [
        dish
        for dish in cafe.dishes.values()
        if dish.course in cafe.courses and course in (None, dish.course)
    ]
