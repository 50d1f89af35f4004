"""The facts of a cafe: what it can cook, buy, store and sell.

Everything here is a frozen pydantic object with units in its field names.
Masses of ingredients are grams *as purchased* unless a name says `edible`;
money is integer cents; lives count calendar days, the first day included.
Objects are built by `tables.py`, which reports faults in the user's terms;
nothing here guesses.
"""

from __future__ import annotations

from datetime import date, time, timedelta
from enum import StrEnum
from functools import cached_property

from pydantic import Field

from optimiser.food_code import USUAL
from optimiser.house import Course as Course
from optimiser.house import Fact as Fact
from optimiser.house import Kitchen as Kitchen
from optimiser.house import Money as Money

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
COMPONENT = "component"
"""The course of a dish that is never sold, only cooked for other dishes."""

NO_LIMIT_DAYS = 10_000
"""A life so long that no plan reaches its end."""


AMINO_ACIDS = ("his", "ile", "leu", "lys", "saa", "aaa", "thr", "trp", "val")
"""Indispensable amino acids of the FAO patterns; saa: methionine + cysteine, aaa:
phenylalanine + tyrosine."""

VEG_GROUPS = ("dark_green", "orange", "pulses", "starchy", "other")
"""Vegetable subgroups of Table H-1 (National Academies, record 12959, p. 236)."""


MOST_STRETCH_PCT = 50.0
"""No flexible line of a recipe is ever stretched further, whatever a rule says."""


class Form(StrEnum):
    """How an ingredient is bought and kept."""

    WHOLE = "whole"  # bought and cut or opened as a unit: squash, tin, block
    LOOSE = "loose"  # weighed, perishable
    DRY = "dry"  # weighed, long-lived


class State(StrEnum):
    """The state of a stock lot."""

    WHOLE = "whole"  # as bought: uncut, unopened, or simply weighed
    OPENED = "opened"
    COOKED = "cooked"


class Ingredient(Fact):
    """One thing that can be bought.

    `allergens` is None when nobody has read the label (unknown) and an empty
    set when the label was read and names none. `protein_g`, `sodium_mg` and `fibre_g`
    are per 100 g edible, None when unknown; `amino_mg_per_g_protein` holds the known
    ones of AMINO_ACIDS, lysine included. `fridge_l_per_kg` is the room that a kilo as
    purchased takes in the fridge; None: not kept there while whole.
    """

    id: str
    name: str
    group: str = ""
    colour: str | None = None
    form: Form
    piece_g: float | None = None
    yield_pct: float = 100.0
    g_per_ml: float | None = None
    keeps_days: int = 1
    opened_keeps_days: int = 1
    protein_g: float | None = None
    amino_mg_per_g_protein: dict[str, float] = Field(default_factory=dict)
    sodium_mg: float | None = None
    fibre_g: float | None = None
    veg_group: str | None = None
    fridge_l_per_kg: float | None = None
    allergens: frozenset[str] | None = None
    diets_excluded: frozenset[str] = frozenset()
    months: frozenset[int] = frozenset()
    source: str = ""

    @property
    def lysine_mg_per_g_protein(self) -> float | None:
        """Milligrams of lysine in a gram of its protein; None when unknown."""
        return self.amino_mg_per_g_protein.get("lys")


class Supplier(Fact):
    """Who delivers, when, and on what terms.

    `delivers` holds weekday numbers (Monday 0); `delivers_on` single dates;
    `not_on` dates on which the van stays away all the same.
    An order for day d must be in by `cut_off` on day d - lead_days.
    """

    id: str
    name: str
    delivers: frozenset[int] = frozenset()
    delivers_on: frozenset[date] = frozenset()
    not_on: frozenset[date] = frozenset()
    lead_days: int = 0
    minimum_order_cents: int = 0
    delivery_fee_cents: int = 0
    cut_off: time | None = None

    def comes_on(self, day: date) -> bool:
        """Whether this supplier's van comes on `day`."""
        usual = day.weekday() in self.delivers or day in self.delivers_on
        return usual and day not in self.not_on

    def order_by(self, day: date) -> date:
        """The last date on which an order for `day` can be placed."""
        return day - timedelta(days=self.lead_days)


class DatedPrice(Fact):
    """The price of one pack from a date on (None: from the beginning)."""

    from_date: date | None
    price_cents: int


class Offer(Fact):
    """One pack size of one ingredient at one supplier, with its price history.

    `pack_g` is grams as purchased. `pieces` is the number of whole pieces in
    the pack for `whole` ingredients, else 0. `prices` is sorted by date.
    `missing_on` holds delivery dates on which the van comes without it.
    """

    ingredient: str
    supplier: str
    pack_qty: float
    pack_unit: str
    pack_g: float
    pieces: int = 0
    prices: tuple[DatedPrice, ...]
    missing_on: frozenset[date] = frozenset()

    def price_cents_on(self, order_day: date) -> int | None:
        """The latest price on or before `order_day`; None before the first."""
        current = None
        for dated in self.prices:
            if dated.from_date is None or dated.from_date <= order_day:
                current = dated.price_cents
        return current


class Line(Fact):
    """One line of a recipe: `edible_g` grams of an ingredient, prepared, or of
    another dish, cooked. `yield_pct` turns edible grams into purchased ones.
    A `flexible` line may be stretched a little, where a rule allows it."""

    item: str
    qty: float
    unit: str
    edible_g: float
    yield_pct: float = 100.0
    visible: bool = True
    flexible: bool = False
    note: str = ""

    @property
    def purchased_g(self) -> float:
        """Grams as purchased that this line takes for the recipe as written."""
        return self.edible_g * 100.0 / self.yield_pct


class Step(Fact):
    """One step of a method."""

    number: int
    text: str
    minutes: float = 0.0
    station: str = ""
    ahead_days: int = 0


class Dish(Fact):
    """A recipe: something sold from the cabinet, a component, or both.

    `lines` are for `portions` portions. `hold_days` counts the calendar days it
    may be served, the day it is cooked included. Minutes other than
    `hands_on_min_per_10` are per cook, whatever its size.
    """

    id: str
    name: str
    course: str
    portions: float
    portion_g: float
    step_portions: int = 1
    min_portions: int = 1
    max_portions: int = 100
    hold_days: int = 1
    hands_on_min: float = 0.0
    hands_on_min_per_10: float = 0.0
    oven_min: float = 0.0
    hob_min: float = 0.0
    processor_min: float = 0.0
    appeal: float = 1.0
    cuisine: str = ""
    method: str = ""
    served_as: str = ""
    price_cents: int | None = None
    cooked_yield_pct: float | None = None
    oven_c: float | None = None
    texture: str = ""
    lines: tuple[Line, ...] = ()
    steps: tuple[Step, ...] = ()

    @property
    def is_raw(self) -> bool:
        """Raw dishes carry the use-by of every part; cooking renews the rest.

        A blank method is unknown and so treated as raw.
        """
        return self.method in ("", "raw")


class Lot(Fact):
    """One row of the stock count.

    `grams` as purchased for ingredients, finished grams for cooked dishes.
    `units` is the number of whole pieces of a whole lot, else 0.
    `use_by` is the last day of use; None only for dry goods without a date.
    """

    id: str
    item: str
    state: State
    qty: float
    unit: str
    grams: float
    units: int = 0
    use_by: date | None = None


class Cover(Fact):
    """Guests expected on a day: the middle, a quiet day, a busy day.

    Half of such days have fewer than `expected` guests; none has fewer than
    `low` or more than `high`. `chances` replaces that by a table of
    (guests, probability).
    """

    expected: float
    low: float
    high: float
    chances: tuple[tuple[float, float], ...] = ()


class Served(Fact):
    """What became of one dish on one past day."""

    day: date
    dish: str
    cooked: float
    sold: float
    binned: float = 0.0
    sold_out_at: time | None = None


class Cafe(Fact):
    """All facts of one cafe. Built by `tables.read_folder`, never changed."""

    name: str
    currency: str = "AUD"
    locale: str | None = None
    regime: str = USUAL
    cup_ml: float = 250.0
    tbsp_ml: float = 20.0
    open_days: frozenset[int] = frozenset(range(6))
    week: date | None = None
    plan_ahead_days: int = 3
    courses: dict[str, Course]
    plate: dict[str, int] = Field(default_factory=dict)
    kitchen: Kitchen = Kitchen()
    money: Money = Money()
    ingredients: dict[str, Ingredient]
    suppliers: dict[str, Supplier] = Field(default_factory=dict)
    offers: tuple[Offer, ...] = ()
    dishes: dict[str, Dish]
    stock: tuple[Lot, ...] = ()
    covers: dict[int | date, Cover] = Field(default_factory=dict)
    history: tuple[Served, ...] = ()

    def cover_on(self, day: date) -> Cover:
        """Guests on `day`: its own row, else its weekday's, else none."""
        own = self.covers.get(day) or self.covers.get(day.weekday())
        return own or Cover(expected=0, low=0, high=0)

    def price_cents(self, dish: Dish) -> int:
        """What a guest pays for one portion; 0 for components."""
        if dish.price_cents is not None:
            return dish.price_cents
        course = self.courses.get(dish.course)
        return course.price_cents if course else 0

    @cached_property
    def offers_of(self) -> dict[str, tuple[Offer, ...]]:
        """Offers by ingredient, in table order."""
        found: dict[str, list[Offer]] = {}
        for offer in self.offers:
            found.setdefault(offer.ingredient, []).append(offer)
        return {item: tuple(offers) for item, offers in found.items()}

    def name_of(self, item: str) -> str:
        """The name of a dish or an ingredient."""
        thing = self.dishes.get(item) or self.ingredients[item]
        return thing.name
