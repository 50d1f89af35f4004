"""Weeks solved in the head, planned by the real planner and read from the plan."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import Any

import pytest

from optimiser.cafe import (
    COMPONENT,
    Cafe,
    Course,
    Cover,
    Dish,
    Form,
    Ingredient,
    Kitchen,
    Lot,
    Money,
    State,
    Supplier,
)
from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.rules import parse_rule
from optimiser.search import Effort
from optimiser.week import Week
from tests.small_cafe import ingredient, line, offer

MON = date(2026, 1, 5)
TUE, WED, THU, FRI, SAT, SUN = (MON + timedelta(days=n) for n in range(1, 7))
BEFORE = date(2026, 1, 1)

SQUASH = ingredient("squash", Form.WHOLE, piece_g=1000, keeps_days=20, opened_keeps_days=3)
RICE = ingredient("rice", Form.DRY, keeps_days=365)


def dish(id: str, *lines: Any, course: str = "main", **fields: Any) -> Dish:
    """A recipe of 4 portions of 100 g, cooked 4 at a time."""
    body: dict[str, Any] = {
        "portions": 4, "portion_g": 100, "step_portions": 4, "max_portions": 12, "method": "boiled",
    }  # fmt: skip
    return Dish(id=id, name=id, course=course, lines=tuple(lines), **(body | fields))


def cafe(dishes: list[Dish], items: list[Ingredient], days: list[date], **changes: Any) -> Cafe:
    """One slot, 4 portions wanted on each of `days`, open on those weekdays only."""
    fields: dict[str, Any] = {
        "name": "Story",
        "open_days": frozenset(day.weekday() for day in days),
        "courses": {"main": Course(slots=1, price_cents=1000, take_up=1, portion_g=100)},
        "money": Money(appeal_cents=0),
        "ingredients": {one.id: one for one in items},
        "suppliers": {
            "farm": Supplier(id="farm", name="farm", delivers=frozenset(range(7))),
        },
        "offers": tuple(offer(one.id, "farm", 400, **_pack(one)) for one in items),
        "dishes": {one.id: one for one in dishes},
        "covers": {day: Cover(expected=4, low=4, high=4) for day in days},
    }
    return Cafe(**(fields | changes))


def _pack(item: Ingredient) -> dict[str, Any]:
    """A piece, or a kilogram."""
    return {"pack_unit": "each", "pieces": 1} if item.piece_g else {}


def best_plan(this: Cafe, days: list[date], pins: dict[str, list[date]], **changes: Any) -> Plan:
    """The proven best week with dishes pinned to days."""
    rules = tuple(
        parse_rule({"kind": "pin", "dish": name, "day": day})
        for name, pinned in pins.items()
        for day in pinned
    )
    length = (days[-1] - days[0]).days + 1
    week = Week(
        **({"cafe": this, "rules": rules, "start": days[0], "planned_on": BEFORE, "days": length}
           | changes)
    )  # fmt: skip
    outcome = plan_week(week, Effort(seconds=20, work=3))
    assert outcome.rejected == ()
    assert outcome.plan is not None and outcome.plan.status == "optimal"
    return outcome.plan


@pytest.mark.parametrize(
    ("second", "squashes"), [(TUE, 1), (WED, 1), (THU, 2), (FRI, 2)]
)
def test_half_a_squash_waits_two_days_but_not_four(second: date, squashes: int):
    """400 g on Monday and 400 g later; a cut squash of 1 kg is good for 3 days."""
    days = [MON, second]
    dishes = [dish("soup", line("squash", 400)), dish("roast", line("squash", 400))]
    plan = best_plan(cafe(dishes, [SQUASH], days), days, {"soup": [MON], "roast": [second]})
    assert sum(cut.units for cut in plan.opens) == squashes
    assert sum(buy.packs for buy in plan.buys) == squashes
    assert {cut.date for cut in plan.opens} == set(days[:squashes])


@pytest.mark.parametrize(("hold_days", "pots"), [(3, 1), (2, 2)])
def test_saturdays_pot_is_two_days_old_on_monday(hold_days: int, pots: int):
    """Closed on Sunday: a part with 3 days of life is still good, with 2 it is not."""
    days = [SAT, MON + timedelta(days=7)]
    dishes = [
        dish("pie", line("pot", 300)),
        dish("pot", line("rice", 100), course=COMPONENT, step_portions=6, hold_days=hold_days),
    ]
    plan = best_plan(cafe(dishes, [RICE], days), days, {"pie": days})
    assert sum(1 for cook in plan.cooks if cook.dish == "pot") == pots


@pytest.mark.parametrize(("opened_keeps_days", "squashes"), [(3, 1), (2, 2)])
def test_saturdays_half_squash_is_two_days_old_on_monday(opened_keeps_days: int, squashes: int):
    days = [SAT, MON + timedelta(days=7)]
    squash = SQUASH.model_copy(update={"opened_keeps_days": opened_keeps_days})
    this = cafe([dish("soup", line("squash", 500))], [squash], days)
    plan = best_plan(this, days, {"soup": days})
    assert sum(cut.units for cut in plan.opens) == squashes


@pytest.mark.parametrize("state", [State.OPENED, State.COOKED])
@pytest.mark.parametrize(("use_by", "is_used"), [(MON, True), (SUN - timedelta(days=7), False)])
def test_a_remainder_is_used_on_monday_if_it_lives_that_long(
    state: State, use_by: date, is_used: bool
):
    item = "squash" if state is State.OPENED else "pot"
    dishes = [
        dish("pie", line(item, 400)),
        dish("pot", line("rice", 100), course=COMPONENT, hold_days=2),
    ]
    rest = Lot(id="stock-1", item=item, state=state, qty=400, unit="g", grams=400, use_by=use_by)
    this = cafe(dishes, [SQUASH, RICE], [MON], stock=(rest,))
    plan = best_plan(this, [MON], {"pie": [MON]})
    assert any(use.lot == "stock-1" for use in plan.uses) == is_used
    assert bool(plan.opens) == (state is State.OPENED and not is_used)
    assert any(cook.dish == "pot" for cook in plan.cooks) == (
        state is State.COOKED and not is_used
    )


@pytest.mark.parametrize(("use_by", "days_shown"), [(MON, 1), (TUE, 2), (WED, 3)])
def test_a_salad_with_yesterdays_quinoa_dies_with_the_quinoa(use_by: date, days_shown: int):
    """One cook of salad from the quinoa in stock, dearer than the filler all week."""
    days = [MON, TUE, WED]
    dishes = [
        dish("salad", line("pot", 200), hold_days=4, method="raw", price_cents=3000),
        dish("filler", line("rice", 100)),
        dish("pot", line("never", 100), course=COMPONENT, hold_days=4),
    ]
    never = ingredient("never", Form.LOOSE)
    quinoa = Lot(
        id="stock-1", item="pot", state=State.COOKED, qty=600, unit="g", grams=600, use_by=use_by
    )
    only_rice = (offer("rice", "farm", 400),)
    this = cafe(dishes, [RICE, never], days, stock=(quinoa,), offers=only_rice)
    plan = best_plan(this, days, {})
    shown = [row.dish for row in plan.shown]
    assert shown == ["salad"] * days_shown + ["filler"] * (3 - days_shown)


def test_a_cooked_salad_does_not_outlive_its_quinoa_either():
    """Boiling renews vegetables, not a part cooked before."""
    days = [MON, TUE]
    dishes = [
        dish("bake", line("pot", 100), hold_days=3, price_cents=3000),
        dish("filler", line("rice", 100)),
        dish("pot", line("rice", 100), course=COMPONENT, hold_days=1),
    ]
    plan = best_plan(cafe(dishes, [RICE], days), days, {"bake": days})
    bakes = [cook for cook in plan.cooks if cook.dish == "bake"]
    assert [cook.shown for cook in bakes] == [(MON,), (TUE,)]
    assert sum(1 for cook in plan.cooks if cook.dish == "pot") == 2


@pytest.mark.parametrize(("wanted_g", "opened"), [(150, 0), (200, 0), (300, 1)])
def test_a_part_tin_is_used_before_a_new_one_is_opened(wanted_g: float, opened: int):
    tin = ingredient("tin", Form.WHOLE, piece_g=400, keeps_days=400, opened_keeps_days=3)
    stock = (
        Lot(id="stock-1", item="tin", state=State.WHOLE, qty=2, unit="each", grams=800, units=2,
            use_by=MON + timedelta(days=300)),
        Lot(id="stock-2", item="tin", state=State.OPENED, qty=200, unit="g", grams=200,
            use_by=MON),
    )  # fmt: skip
    this = cafe([dish("stew", line("tin", wanted_g))], [tin], [MON], stock=stock)
    plan = best_plan(this, [MON], {"stew": [MON]})
    used = {use.lot: use.grams for use in plan.uses}
    assert used["stock-2"] == min(wanted_g, 200)
    assert sum(cut.units for cut in plan.opens) == opened
    assert plan.buys == ()


@pytest.mark.parametrize(
    ("planned_at", "first_fresh"),
    [(None, TUE), (time(13, 59), TUE), (time(14), TUE), (time(14, 1), WED)],
)
def test_no_order_arrives_before_its_lead_time_and_cut_off(
    planned_at: time | None, first_fresh: date
):
    """Planned on Monday, one day of lead: Tuesday's van by 14:00, else Wednesday's."""
    days = [MON, TUE, WED]
    kale = ingredient("kale", Form.LOOSE, keeps_days=1)
    farm = Supplier(
        id="farm", name="farm", delivers=frozenset(range(7)), lead_days=1, cut_off=time(14)
    )
    dishes = [dish("fresh", line("kale", 100), price_cents=3000), dish("filler", line("rice", 100))]
    rice = Lot(id="stock-1", item="rice", state=State.WHOLE, qty=1, unit="kg", grams=1000)
    this = cafe(dishes, [kale, RICE], days, suppliers={"farm": farm}, stock=(rice,))
    plan = best_plan(this, days, {}, planned_on=MON, planned_at=planned_at)
    fresh = [day for day in days if day >= first_fresh]
    assert [buy.deliver_on for buy in plan.buys] == fresh
    assert [row.date for row in plan.shown if row.dish == "fresh"] == fresh


@pytest.mark.parametrize(("fee_cents", "vans"), [(0, 2), (900, 1)])
def test_a_delivery_fee_brings_two_orders_into_one_van(fee_cents: int, vans: int):
    """Herbs for two days: fresh each day costs 2 x 400, one van with two packs as much.

    With a price that falls by 100 on Tuesday, two vans save 100 if they are free.
    """
    days = [MON, TUE]
    herb = ingredient("herb", Form.LOOSE, keeps_days=2)
    farm = Supplier(
        id="farm", name="farm", delivers=frozenset(range(7)), delivery_fee_cents=fee_cents
    )
    falls = (offer("herb", "farm", 400, pack_g=100.0, later=(TUE, 300)),)
    this = cafe(
        [dish("salad", line("herb", 100))], [herb], days, suppliers={"farm": farm}, offers=falls
    )
    plan = best_plan(this, days, {})
    assert len({buy.deliver_on for buy in plan.buys}) == vans
    assert plan.terms_cents["delivery_fees"] == -vans * fee_cents
    assert plan.terms_cents["purchases"] == (-700 if vans == 2 else -800)


def test_an_order_is_lifted_to_its_minimum_or_not_made():
    """One pack of 400 would do; the minimum of 1000 takes three, and two are binned."""
    kale = ingredient("kale", Form.LOOSE, keeps_days=1)
    farm = Supplier(
        id="farm", name="farm", delivers=frozenset(range(7)), minimum_order_cents=1000
    )
    this = cafe([dish("fresh", line("kale", 100))], [kale], [MON], suppliers={"farm": farm})
    plan = best_plan(this, [MON], {})
    assert [(buy.packs, buy.cost_cents) for buy in plan.buys] == [(3, 1200)]


def test_an_order_of_dry_goods_reaches_its_minimum_by_whole_packs():
    """100 g of rice are needed; three packs of 400 pass the minimum, and the rest keeps."""
    farm = Supplier(id="farm", name="farm", delivers=frozenset(range(7)), minimum_order_cents=1000)
    this = cafe([dish("fresh", line("rice", 100))], [RICE], [MON], suppliers={"farm": farm})
    plan = best_plan(this, [MON], {})
    assert [(buy.packs, buy.cost_cents) for buy in plan.buys] == [(3, 1200)]


@pytest.mark.parametrize(("lead_days", "paid_cents"), [(0, 500), (1, 400)])
def test_a_pack_costs_what_it_cost_on_the_day_of_the_order(lead_days: int, paid_cents: int):
    """Dearer from Tuesday on; ordered on Monday for Tuesday, it still has the old price."""
    kale = ingredient("kale", Form.LOOSE, keeps_days=1)
    farm = Supplier(id="farm", name="farm", delivers=frozenset(range(7)), lead_days=lead_days)
    rises = (offer("kale", "farm", 400, later=(TUE, 500)),)
    this = cafe(
        [dish("fresh", line("kale", 100))], [kale], [TUE], suppliers={"farm": farm}, offers=rises
    )
    plan = best_plan(this, [TUE], {})
    assert [buy.cost_cents for buy in plan.buys] == [paid_cents]


def test_no_dish_is_in_the_cabinet_twice_on_a_day():
    """The filler sells at a loss, so the good dish would take both places if it could."""
    days = [MON, TUE]
    dishes = [
        dish("good", line("rice", 100), hold_days=2, price_cents=3000),
        dish("filler", line("rice", 100), price_cents=1),
    ]
    this = cafe(dishes, [RICE], days)
    main = this.courses["main"].model_copy(update={"slots": 2, "take_up": 2})
    plan = best_plan(this.model_copy(update={"courses": {"main": main}}), days, {})
    assert [sorted(plan.dishes_on(day)) for day in days] == [["filler", "good"]] * 2


def test_a_dish_is_cooked_once_a_day_up_to_its_largest_cook():
    """Kale for Monday only: both days are served from one cook of 4, not from two."""
    days = [MON, TUE]
    kale = ingredient("kale", Form.LOOSE, keeps_days=1)
    farm = Supplier(id="farm", name="farm", delivers_on=frozenset({MON}))
    this = cafe(
        [dish("fresh", line("kale", 100), hold_days=2, max_portions=4)], [kale], days,
        suppliers={"farm": farm}, kitchen=Kitchen(cook_ahead_days=1),
    )  # fmt: skip
    plan = best_plan(this, days, {})
    assert [(cook.date, cook.portions) for cook in plan.cooks] == [(MON, 4)]
    assert plan.terms_cents["takings"] == 4000


def test_portions_sold_and_portions_for_another_dish_share_the_largest_cook():
    """Six of soup at most: four go into Tuesday's dearer gratin, two are sold."""
    days = [MON, TUE]
    kale = ingredient("kale", Form.LOOSE, keeps_days=1)
    farm = Supplier(id="farm", name="farm", delivers_on=frozenset({MON}))
    dishes = [
        dish("soup", line("kale", 100), hold_days=2, step_portions=2, max_portions=6),
        dish("gratin", line("soup", 400), price_cents=3000),
    ]
    this = cafe(
        dishes, [kale], days, suppliers={"farm": farm},
        money=Money(appeal_cents=0, extra_portion_steps=3),
    )  # fmt: skip
    plan = best_plan(this, days, {"soup": [MON], "gratin": [TUE]})
    assert {(cook.date, cook.dish): cook.portions for cook in plan.cooks} == {
        (MON, "soup"): 6,
        (TUE, "gratin"): 4,
    }
    assert {row.dish: row.portions for row in plan.shown} == {"soup": 2, "gratin": 4}
