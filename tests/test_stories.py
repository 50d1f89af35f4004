"""Weeks solved in the head, planned by the real planner: food and its lives."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from optimiser.cafe import COMPONENT, Form, Kitchen, Lot, Money, State, Supplier
from tests.small_cafe import ingredient, line, offer
from tests.story_cafe import (
    FRI,
    MON,
    RICE,
    SAT,
    SQUASH,
    SUN,
    THU,
    TUE,
    WED,
    best_plan,
    cafe,
    dish,
)


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
