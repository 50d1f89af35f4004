"""A cafe small enough to plan by hand, and its week planned by hand.

Monday 5 to Wednesday 7 January 2026, planned on Friday the 2nd; the next open
day is Thursday the 8th. One main and one salad a day. All amounts are worked out
in the comments, so that a test may rely on numbers no program of ours produced.
"""

from __future__ import annotations

from datetime import date, time
from typing import Any, ClassVar, Literal

from optimiser.cafe import (
    COMPONENT,
    Cafe,
    Course,
    Cover,
    DatedPrice,
    Dish,
    Form,
    Ingredient,
    Kitchen,
    Line,
    Lot,
    Offer,
    State,
    Supplier,
)
from optimiser.plan import (
    Binned,
    Breach,
    Buy,
    Cook,
    Left,
    Open,
    Plan,
    RuleResult,
    Shown,
    Use,
)
from optimiser.rules.base import Rows, Rule
from optimiser.week import Week

FRI, SAT = date(2026, 1, 2), date(2026, 1, 3)
MON, TUE, WED, THU = (date(2026, 1, day) for day in (5, 6, 7, 8))


class MostShowings(Rule):
    """A dish is shown on at most so many days; a rule made for tests."""

    kind: Literal["most_showings_for_tests"] = "most_showings_for_tests"
    title: ClassVar[str] = "Not too often"
    unit: ClassVar[str] = "showing"
    dish: str
    most: int

    def describe(self, cafe: Cafe) -> str:
        return f"{cafe.name_of(self.dish)} at most {self.most} times"

    def add_to(self, model: Rows) -> None:
        raise NotImplementedError("this rule is only ever checked")

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        days = [row.date for row in plan.shown if row.dish == self.dish]
        over = len(days) - self.most
        if over <= 0:
            return []
        text = f"{cafe.name_of(self.dish)} shown {len(days)} times, at most {self.most}"
        return [self.breach(text, over, max(days), self.dish)]


def ingredient(id: str, form: Form, **fields: Any) -> Ingredient:
    """An ingredient named like its id."""
    return Ingredient(id=id, name=id.replace("_", " "), form=form, **fields)


def offer(item: str, supplier: str, price_cents: int, **fields: Any) -> Offer:
    """A pack of 1 kg (or what `fields` say) with one price, or `later` = (date, price)."""
    later = fields.pop("later", None)
    prices = [DatedPrice(from_date=None, price_cents=price_cents)]
    if later:
        prices.append(DatedPrice(from_date=later[0], price_cents=later[1]))
    pack: dict[str, Any] = {"pack_qty": 1.0, "pack_unit": "kg", "pack_g": 1000.0} | fields
    return Offer(ingredient=item, supplier=supplier, prices=tuple(prices), **pack)


def line(item: str, grams: float, **fields: Any) -> Line:
    """A recipe line in edible grams."""
    return Line(item=item, qty=grams, unit="g", edible_g=grams, **fields)


def small_cafe(**changes: Any) -> Cafe:
    """The cafe; `changes` replace whole fields of it."""
    fields: dict[str, Any] = {
        "name": "Small",
        "courses": {
            "main": Course(slots=1, price_cents=1000, take_up=0.2, portion_g=300),
            "salad": Course(slots=1, price_cents=800, take_up=0.1, portion_g=200),
        },
        "kitchen": Kitchen(cook_ahead_days=1),
        "ingredients": {item.id: item for item in _ingredients()},
        "suppliers": {supplier.id: supplier for supplier in _suppliers()},
        "offers": (
            offer("squash", "farm", 400, pack_unit="each", pieces=1),  # .4 cents/g
            offer("carrot", "farm", 200),  # .2 cents/g
            offer("quinoa", "mill", 900, later=(MON, 1000)),  # .9 cents/g on Friday
        ),
        "dishes": {dish.id: dish for dish in _dishes()},
        "stock": (
            Lot(id="stock-1", item="quinoa", state=State.WHOLE, qty=1, unit="kg", grams=1000),
            Lot(id="stock-2", item="squash", state=State.WHOLE, qty=2, unit="each", grams=2000,
                units=2, use_by=WED),
            Lot(id="stock-3", item="carrot", state=State.WHOLE, qty=200, unit="g", grams=200,
                use_by=SAT),
        ),
        "covers": {
            0: Cover(expected=40, low=40, high=40),
            1: Cover(expected=40, low=20, high=60),
            2: Cover(expected=30, low=20, high=40, chances=((20, 0.5), (40, 0.5))),
        },
    }  # fmt: skip
    return Cafe(**(fields | changes))


def _ingredients() -> list[Ingredient]:
    return [
        ingredient("squash", Form.WHOLE, piece_g=1000, keeps_days=10, opened_keeps_days=3),
        ingredient("carrot", Form.LOOSE, keeps_days=4),
        ingredient("quinoa", Form.DRY, keeps_days=365),
    ]


def _suppliers() -> list[Supplier]:
    return [
        Supplier(id="farm", name="Hill Farm", delivers=frozenset({0, 2}), lead_days=3,
                 cut_off=time(14), minimum_order_cents=1500, delivery_fee_cents=500),
        Supplier(id="mill", name="Old Mill", delivers=frozenset({2}), lead_days=1),
    ]  # fmt: skip


def _dishes() -> list[Dish]:
    return [
        # A portion: 200 g squash as purchased (160 g at 80 %), 80 cents.
        Dish(id="roast", name="Roast squash", course="main", portions=10, portion_g=300,
             step_portions=2, min_portions=4, max_portions=20, hold_days=2, method="roasted",
             lines=(line("squash", 1600, yield_pct=80),)),
        # A portion: 100 g carrot (20 cents) and 50 g cooked quinoa (18 cents).
        Dish(id="salad", name="Carrot salad", course="salad", portions=10, portion_g=200,
             step_portions=2, min_portions=2, max_portions=20, hold_days=2, method="raw",
             appeal=1.1, lines=(line("carrot", 1000), line("pot", 500))),
        # A portion: 100 g from 40 g quinoa, 36 cents (.36 cents/g).
        Dish(id="pot", name="Pot of quinoa", course=COMPONENT, portions=10, portion_g=100,
             step_portions=5, min_portions=5, max_portions=40, hold_days=3, method="boiled",
             lines=(line("quinoa", 400),)),
    ]  # fmt: skip


def small_rules() -> tuple[Rule, ...]:
    """One hard rule that the plan keeps, one with a price that it breaks by 1."""
    return (
        MostShowings(dish="roast", most=3),
        MostShowings(dish="salad", most=2, price_cents=50),
    )


def small_week(cafe: Cafe | None = None, **changes: Any) -> Week:
    """Monday to Wednesday of the cafe; `changes` replace fields of the week."""
    fields: dict[str, Any] = {
        "cafe": cafe or small_cafe(),
        "rules": small_rules(),
        "start": MON,
        "planned_on": FRI,
        "days": 3,
        "planned_at": time(13),
    }
    return Week(**(fields | changes))


FARM_SQUASH = f"bought-{MON}-farm-squash"
FARM_CARROT = f"bought-{MON}-farm-carrot"
MILL_QUINOA = f"bought-{WED}-mill-quinoa"
MONDAY_POT = f"cooked-{MON}-pot"


def small_plan() -> Plan:
    """The week by hand.

    Portions a day: mains .2 a guest: Monday 8, Tuesday 4 to 12, Wednesday 4 or 8;
    salads .11 a guest (appeal 1.1): Monday 4.4, Tuesday 2.2 to 6.6, Wednesday 2.2 or 4.4.
    Roast, 18 for Monday and Tuesday, demand even on 12..20:
      sold 12 + (8^2 - 2^2) / 16 = 15.75; takings 15750; 2.25 unsold = 675 g, 180 cents
    Roast, 6 for Wednesday: sold (4 + 6) / 2 = 5; takings 5000; 1 unsold = 300 g, 80 cents
    Salad, 8 for Monday and Tuesday, demand even on 6.6..11:
      sold 6.6 + (4.4^2 - 3^2) / 8.8 = 7.77727; takings 6221(.8);
      .22273 unsold = 44.545 g, 8.4636 cents
    Salad, 4 for Wednesday: sold (2.2 + 4) / 2 = 3.1; takings 2480; .9 unsold = 180 g, 34.2 cents
    Takings 15750 + 5000 + 6221 + 2480 = 29451.
    Bought 4 squash 1600, 2 kg carrot 400, 1 kg quinoa at Tuesday's price 1000: 3000.
    One van with a fee: 500.
    Binned: 40 + 144 + 180 + 8.4636 + 80 + 34.2 = 486.6636 cents,
      200 + 400 + 675 + 44.545 + 300 + 180 = 1799.545 g at 20 cents/kg = 35.99; waste 523.
    Left: a squash .8 x 400 = 320; carrot .3 x 800 x .2 = 48; quinoa .95 x 600 x .9 = 513
      and the bought kilo at its cost 1000: 1881.
    The salad's third showing 50. Appeal 3 x 200 x .1 = 60.
    Margin 29451 - 3000 - 500 - 523 + 1881 - 50 + 60 = 27319.
    """
    return Plan(
        week=MON,
        days=3,
        planned_on=FRI,
        currency="AUD",
        objective_cents=27319,
        bound_cents=27500,
        terms_cents={
            "takings": 29451,
            "purchases": -3000,
            "delivery_fees": -500,
            "waste": -523,
            "left_value": 1881,
            "rule_breaches": -50,
            "appeal": 60,
        },
        cooks=(
            Cook(date=MON, dish="roast", portions=18, shown=(MON, TUE)),
            Cook(date=WED, dish="roast", portions=6, shown=(WED,)),
            Cook(date=MON, dish="salad", portions=8, shown=(MON, TUE)),
            Cook(date=WED, dish="salad", portions=4, shown=(WED,)),
            Cook(date=MON, dish="pot", portions=10),
        ),
        shown=(
            Shown(date=MON, course="main", dish="roast", portions=8, cooked_on=MON, place=1),
            Shown(date=TUE, course="main", dish="roast", portions=10, cooked_on=MON, place=1),
            Shown(date=WED, course="main", dish="roast", portions=6, cooked_on=WED, place=1),
            Shown(date=MON, course="salad", dish="salad", portions=4, cooked_on=MON, place=1),
            Shown(date=TUE, course="salad", dish="salad", portions=4, cooked_on=MON, place=1),
            Shown(date=WED, course="salad", dish="salad", portions=4, cooked_on=WED, place=1),
        ),
        buys=(
            _buy(MON, "farm", "squash", 4, "each", 1600),
            _buy(MON, "farm", "carrot", 2, "kg", 400),
            _buy(WED, "mill", "quinoa", 1, "kg", 1000),
        ),
        opens=(
            Open(date=MON, ingredient="squash", units=2, lot="stock-2"),
            Open(date=MON, ingredient="squash", units=2, lot=FARM_SQUASH),
            Open(date=WED, ingredient="squash", units=1, lot=FARM_SQUASH),
        ),
        uses=(
            # 18 x 200 g and 6 x 200 g of squash; Monday's last 400 g on their last day
            _use(MON, "roast", "squash", 2000, f"opened-{MON}-stock-2"),
            _use(MON, "roast", "squash", 1600, f"opened-{MON}-{FARM_SQUASH}"),
            _use(WED, "roast", "squash", 400, f"opened-{MON}-{FARM_SQUASH}"),
            _use(WED, "roast", "squash", 800, f"opened-{WED}-{FARM_SQUASH}"),
            _use(MON, "salad", "carrot", 800, FARM_CARROT),
            _use(MON, "salad", "pot", 400, MONDAY_POT),
            _use(WED, "salad", "carrot", 400, FARM_CARROT),
            _use(WED, "salad", "pot", 200, MONDAY_POT),
            _use(MON, "pot", "quinoa", 400, "stock-1"),
        ),
        left=(
            _left("squash", 1000, date(2026, 1, 14), 320, FARM_SQUASH),
            _left("squash", 200, date(2026, 1, 9), 0, f"opened-{WED}-{FARM_SQUASH}"),
            _left("carrot", 800, THU, 48, FARM_CARROT),
            _left("quinoa", 600, None, 513, "stock-1"),
            _left("quinoa", 1000, date(2027, 1, 6), 1000, MILL_QUINOA),
        ),
        binned=(
            Binned(date=MON, item="carrot", grams=200, cost_cents=40, lot="stock-3"),
            Binned(date=WED, item="pot", grams=400, cost_cents=144, lot=MONDAY_POT),
            Binned(date=TUE, item="roast", grams=675, cost_cents=180),
            # 40 + 144 + 180 + 8.46 = 372.46, so the sum is 373 from here: 9
            Binned(date=TUE, item="salad", grams=44.5454545, cost_cents=9),
            Binned(date=WED, item="roast", grams=300, cost_cents=80),
            Binned(date=WED, item="salad", grams=180, cost_cents=34),
        ),
        rules=(
            RuleResult(kind="most_showings_for_tests", title="Not too often", holds=True),
            RuleResult(
                kind="most_showings_for_tests", title="Not too often", holds=False, slack=-1
            ),
        ),
    )


def _buy(day: date, supplier: str, item: str, packs: int, unit: str, cost_cents: int) -> Buy:
    return Buy(deliver_on=day, supplier=supplier, ingredient=item, packs=packs, pack_qty=1,
               pack_unit=unit, cost_cents=cost_cents)  # fmt: skip


def _use(day: date, dish: str, item: str, grams: float, lot: str) -> Use:
    return Use(date=day, dish=dish, item=item, grams=grams, lot=lot)


def _left(item: str, grams: float, use_by: date | None, value_cents: int, lot: str) -> Left:
    return Left(item=item, grams=grams, use_by=use_by, value_cents=value_cents, lot=lot)
