"""Weeks solved in the head, planned by the real planner: orders and what they cost."""

from __future__ import annotations

from datetime import date, time

import pytest

from optimiser.cafe import Form, Lot, State, Supplier
from tests.small_cafe import ingredient, line, offer
from tests.story_cafe import (
    MON,
    RICE,
    TUE,
    WED,
    best_plan,
    cafe,
    dish,
)


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


def test_a_price_that_falls_before_the_order_is_no_money_machine():
    """Tins that nobody cooks, 3000 today and 1000 from Tuesday: none is bought to be left.

    Valued at 95 % of today's price, each would have earned 1850 by lying on the shelf.
    """
    tins = ingredient("tins", Form.WHOLE, piece_g=1000, keeps_days=365)
    this = cafe(
        [dish("rice_dish", line("rice", 100)), dish("tin_dish", line("tins", 400))],
        [RICE, tins],
        [MON, TUE, WED],
        offers=(
            offer("rice", "farm", 400),
            offer("tins", "farm", 3000, later=(TUE, 1000), pack_unit="each", pieces=1),
        ),
    )
    plan = best_plan(this, [MON, TUE, WED], {"rice_dish": [MON, WED]})
    bought = sum(buy.packs for buy in plan.buys if buy.ingredient == "tins")
    assert bought <= 1  # Tuesday's dish may take one
