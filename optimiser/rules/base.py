"""The shape of a house rule.

A rule is a frozen object: a stable `kind`, a title, parameters with units and
limits, a source, a good and a bad week, and what it can do: say itself, write its
rows, judge a plan, and give way. It writes its rows through the small `Rows`
protocol and so never sees a solver; `check` looks at a finished plan only.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, Protocol

from pydantic import Field

from optimiser.cafe import Cafe, Dish, Fact
from optimiser.plan import Breach, Plan
from optimiser.rules.words import row_key

if TYPE_CHECKING:
    from optimiser.runs import Run
    from optimiser.week import Week

Terms = list[tuple[Any, float]]
"""A linear sum: (variable, coefficient) pairs; repeated variables add up."""

Sum = tuple[Terms, float]
"""A linear sum and a constant."""

Phrase = tuple[str, date | None]
"""What a rule gives up, in words, and on which day: `four colours instead of five`."""

HOUSE_RULE = "house rule"
"""The source of a rule that no published standard asks for."""


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

    def yes_no(self, name: str) -> Any:
        """A new helper variable that is 0 or 1."""
        ...

    def cooks_of(self, dish: str, day: date) -> Terms:
        """1 if the dish is cooked that day, for the cabinet or as a part."""
        ...

    def used_from_stock(self, lot: str) -> Terms:
        """Grams taken from a stock lot over the week (whole lots: grams cut)."""
        ...

    def left_g(self, item: str) -> Sum:
        """Grams of an ingredient still good on the first open day after the week,
        opened and cut pieces left out."""
        ...

    def unfinished_g(self, item: str, day: date) -> Sum:
        """Grams of a whole ingredient opened or cut up to `day`, the opened stock
        included, and not used up to then: in the fridge or already in the bin."""
        ...

    def stretched(self, dish: str, item: str, day: date) -> tuple[Terms, Terms]:
        """Grams more, and grams less, than written that the dish's cook of that day takes
        of an item, over its flexible lines. Empty unless a rule `stretches`."""
        ...

    def on_hand_g(self, item: str, day: date) -> Sum:
        """Grams of an item in stock or delivered (parts: cooked) up to `day` and not
        used up to then, spoilt or not. Dry goods, bought by the gram, are refused."""
        ...

    def spend(
        self, day: date | None = None, supplier: str | None = None, fresh_only: bool = False
    ) -> Terms:
        """Cents of purchases: packs of fresh and whole things and, unless `fresh_only`,
        dry goods by the gram used."""
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
    source: ClassVar[str]
    """The published standard or table behind the rule, or HOUSE_RULE."""
    kept: ClassVar[str]
    """A week that keeps the rule, in a few words."""
    broken: ClassVar[str]
    """A week that breaks it, ending in `: broken by <units>`."""

    price_cents: float | None = Field(
        default=None, gt=0, description="price per unit of breach, in cents; blank = never broken"
    )

    stretches: ClassVar[bool] = False
    """Whether the rule lets flexible lines of recipes be stretched."""

    lumpy: ClassVar[bool] = False
    """Whether whole packs and pieces decide if the rule holds, so that a menu chosen with
    packs in fractions may break it."""

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

    def stocks(self, cafe: Cafe) -> dict[str, float]:
        """Grams of ingredients that the rule wants on the shelf after the week: the
        plan may buy these even if no dish takes any."""
        return {}

    def parts(self) -> tuple[Rule, ...]:
        """The rule as rules with one limit each, so that one can give and the others hold."""
        return (self,)

    def share(self, week: Week) -> float:
        """The part of the rule that one unit of its breach is, so that minutes and
        colours compare: a colour of five is 0.2, a dish left out on its day is 1.
        More than 0. A judgement of ours, no fact of the trade."""
        return 1.0

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        """How the rule has to give for a plan with these breaches, in its own parameters."""
        return [(f"accept that {breach.text}", None) for breach in breaches]

    def breach(
        self, text: str, amount: float, day: date | None = None, item: str | None = None
    ) -> Breach:
        """A breach of this rule."""
        return Breach(rule=self.title, text=text, amount=amount, day=day, item=item)


def charge_showings(model: Rows, rule: Rule, units_of: Mapping[str, float]) -> None:
    """Row per dish and open day: units · shown ≤ 0, for dishes that break the rule by so
    many units whenever they are in the cabinet."""
    for dish, units in units_of.items():
        for day in model.week.open_dates:
            terms = [(variable, one * units) for variable, one in model.shown(dish, day)]
            model.at_most(rule, row_key(dish, day), terms, 0)


def sold_dishes(cafe: Cafe, course: str | None = None) -> list[Dish]:
    """Dishes that can be in the cabinet: of one course, or of every course with slots."""
    return [
        dish
        for dish in cafe.dishes.values()
        if dish.course in cafe.courses and course in (None, dish.course)
    ]
