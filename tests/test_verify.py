"""The verifier passes a week planned by hand and rejects every way of spoiling it."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Callable
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import optimiser
from optimiser import demand
from optimiser.cafe import Cafe, Course, Cover, Kitchen, Money, State
from optimiser.ground import Ground
from optimiser.plan import Binned, Breach, Buy, Cook, Left, Open, Plan, Shown, Use, read_plan
from optimiser.verify import Verdict, verify
from optimiser.week import Week
from tests.small_cafe import (
    FARM_CARROT,
    FARM_SQUASH,
    FRI,
    MON,
    MONDAY_POT,
    THU,
    TUE,
    WED,
    MostShowings,
    line,
    offer,
    small_cafe,
    small_plan,
    small_week,
)

PLAN, WEEK = small_plan(), small_week()
POT_USE = Use(date=MON, dish="pot", item="pot", grams=10, lot=MONDAY_POT)


def change(table: str, at: int, **fields: Any) -> Plan:
    """The plan with other fields in one row of a table."""
    rows = list(getattr(PLAN, table))
    rows[at] = rows[at].model_copy(update=fields)
    return PLAN.model_copy(update={table: tuple(rows)})


def drop(table: str, at: int) -> Plan:
    """The plan without one row of a table."""
    rows = list(getattr(PLAN, table))
    del rows[at]
    return PLAN.model_copy(update={table: tuple(rows)})


def add(table: str, row: Any) -> Plan:
    """The plan with one more row in a table."""
    return PLAN.model_copy(update={table: (*getattr(PLAN, table), row)})


def header(**fields: Any) -> Plan:
    """The plan with other fields of its own."""
    return PLAN.model_copy(update=fields)


def term(**cents: int) -> Plan:
    """The plan with other money terms."""
    return header(terms_cents=PLAN.terms_cents | cents)


def texts(verdict: Verdict) -> str:
    return "\n".join(breach.text for breach in verdict.breaches)


def names(breaches: tuple[Breach, ...], *words: str) -> bool:
    """Whether one breach holds all the words."""
    return any(all(word in breach.text for word in words) for breach in breaches)


def test_the_week_planned_by_hand_passes_to_the_cent() -> None:
    verdict = verify(PLAN, WEEK)
    assert texts(verdict) == ""
    assert verdict.passed
    assert verdict.terms_cents == PLAN.terms_cents
    assert sum(verdict.terms_cents.values()) == 27319
    assert verdict.rule_results == PLAN.rules
    assert [(b.rule, b.amount) for b in verdict.priced] == [("Not too often", 1)]
    assert verdict.out_of_order == ()


def test_the_plan_passes_again_when_read_from_its_file(tmp_path: Any) -> None:
    path = tmp_path / "plan.json"
    path.write_text(PLAN.to_json(), encoding="utf-8")
    assert verify(read_plan(path), WEEK).passed


SPOILT: list[tuple[str, Plan, tuple[str, ...]]] = [
    # The plan as a whole.
    ("another week", header(week=TUE), ("week", "2026-01-06", "2026-01-05")),
    ("another length", header(days=7), ("days", "7", "3")),
    ("another day of planning", header(planned_on=MON), ("planned_on", "2026-01-02")),
    ("another currency", header(currency="EUR"), ("currency", "EUR", "AUD")),
    ("optimal without a bound", header(status="optimal", bound_cents=None), ("optimal", "bound")),
    ("an unknown status", header(status="perfect"), ("perfect",)),
    ("a bound one cent too low", header(bound_cents=27318), ("27318", "27319")),
    ("an objective one cent high", header(objective_cents=27320), ("27320", "27319")),
    ("an objective of 5000 digits", header(objective_cents=10**5000), ("objective_cents",)),
    ("takings one cent high", term(takings=29452), ("takings", "29452", "29451")),
    ("purchases one cent low", term(purchases=-2999), ("purchases", "-2999", "-3000")),
    ("a missing van fee", term(delivery_fees=0), ("delivery_fees", "-500")),
    ("waste one cent low", term(waste=-522), ("waste", "-523")),
    ("left value one cent high", term(left_value=1882), ("left_value", "1881")),
    ("rule breaches forgotten", term(rule_breaches=0), ("rule_breaches", "-50")),
    ("appeal one cent high", term(appeal=61), ("appeal", "60")),
    ("an unknown term", term(luck=1), ("luck",)),
    ("a missing term", header(terms_cents={"takings": 29451}), ("appeal", "waste")),
    ("a rule said to hold", change("rules", 1, holds=True), ("Not too often", "broken")),
    ("another slack", change("rules", 1, slack=-2.0), ("slack -2", "slack -1")),
    ("a slack that is no number", change("rules", 1, slack=float("nan")), ("nan",)),
    ("a slack made up", change("rules", 0, slack=1.0), ("slack 1",)),
    ("a rule not reported", drop("rules", 1), ("1 rules", "has 2")),
    # Cooks and showings.
    ("an unknown dish", change("cooks", 0, dish="stew"), ("cook row", "stew", "no dish")),
    ("cooked on a closed day", change("cooks", 0, date=THU), ("2026-01-08", "open day", "roast")),
    ("cooked a day early", change("cooks", 1, date=TUE), ("Roast squash", "2026-01-06")),
    ("the same cook twice", add("cooks", PLAN.cooks[4]), ("pot", "second row")),
    ("two portions more cooked", change("cooks", 1, portions=8), ("Roast squash", "1600.00 g")),
    ("a portion not in the step", change("cooks", 3, portions=3), ("Carrot salad", "step of 2")),
    ("a minus sign", change("cooks", 0, portions=-18), ("roast", "-18")),
    ("portions absurd", change("cooks", 0, portions=10**400), ("roast", "huge")),
    ("half a portion", change("cooks", 0, portions=18.5), ("roast", "18.5")),
    ("a cook of nothing", add("cooks", Cook(date=TUE, dish="pot", portions=0)), ("no cook",)),
    ("a smaller cook than sold", change("cooks", 3, portions=2), ("Carrot salad", "4 are shown")),
    ("a day not shown", drop("shown", 1), ("Roast squash", "2026-01-06", "no row shows it")),
    ("shown twice", add("shown", PLAN.shown[0]), ("roast", "second row")),
    ("shown on a closed day", change("shown", 2, date=THU), ("roast", "2026-01-08")),
    ("shown from no cook", change("shown", 2, cooked_on=TUE), ("Roast squash", "2026-01-06")),
    ("a part in a dish's place", change("cooks", 1, dish="pot"), ("Pot of quinoa", "no row shows")),
    ("a place that is none", change("shown", 0, place=0), ("1 dishes shown as main", "places 0")),
    ("a place left out", change("shown", 3, place=2), ("1 dishes shown as salad", "places 2")),
    ("shown as another course", change("shown", 0, course="salad"), ("Roast squash", "a main")),
    ("an unknown course", change("shown", 0, course="cake"), ("cake", "course")),
    ("portions moved away", change("shown", 2, portions=5), ("takings",)),
    ("a portion too many shown", change("shown", 2, portions=7), ("Roast squash", "7 are shown")),
    ("days out of order", change("cooks", 0, shown=(TUE, MON)), ("Roast squash", "in a row")),
    ("a day named twice", change("cooks", 0, shown=(MON, TUE, TUE)), ("Roast", "in a row")),
    # Orders.
    ("one pack more", change("buys", 0, packs=5), ("squash", "1600", "2000")),
    ("one cent less paid", change("buys", 0, cost_cents=1599), ("squash", "1599")),
    ("less than nothing paid", change("buys", 0, cost_cents=-1600), ("squash", "-1600")),
    ("the price of planning day", change("buys", 2, cost_cents=900), ("quinoa", "900", "1000")),
    ("no such pack", change("buys", 1, pack_qty=2.0), ("carrot", "no such offer")),
    ("another unit", change("buys", 1, pack_unit="g"), ("carrot", "no such offer")),
    ("a pack of NaN", change("buys", 1, pack_qty=float("nan")), ("carrot", "nan")),
    ("not its supplier", change("buys", 1, supplier="mill"), ("Old Mill", "no such offer")),
    ("an unknown supplier", change("buys", 1, supplier="mars"), ("mars", "supplier")),
    ("a day no van comes", change("buys", 2, deliver_on=TUE), ("Old Mill", "2026-01-06")),
    ("a day after the week", change("buys", 2, deliver_on=THU), ("quinoa", "2026-01-08")),
    ("no packs at all", change("buys", 1, packs=0), ("carrot", "packs is 0")),
    ("the same offer twice", add("buys", PLAN.buys[2]), ("quinoa", "second row")),
    ("carrots come too late", change("buys", 1, deliver_on=WED), (FARM_CARROT, "no lot")),
    # Pieces cut or opened.
    ("one unit more opened", change("opens", 0, units=3), ("squash", "stock-2", "only 2")),
    ("one unit less opened", change("opens", 1, units=1), (FARM_SQUASH, "1000.00 g", "1600.00 g")),
    ("opened from nowhere", change("opens", 0, lot="stock-9"), ("stock-9",)),
    ("carrots opened", change("opens", 0, lot=FARM_CARROT, ingredient="carrot"), ("stock-2",)),
    ("opened before delivery", change("opens", 2, date=THU), ("2026-01-08", "squash")),
    ("no units", change("opens", 2, units=0), ("squash", "units is 0")),
    ("an opened lot opened", change("opens", 2, lot=f"opened-{MON}-stock-2"), ("neither in",)),
    ("another ingredient opened", change("opens", 2, ingredient="carrot"), ("lot of squash",)),
    ("opened, then not needed", add("opens", Open(date=TUE, ingredient="squash", units=1,
                                                  lot=FARM_SQUASH)),
     ("left", FARM_SQUASH, "finds none")),
    ("opened, though none is there", change("opens", 2, units=3), (FARM_SQUASH, "only 2")),
    # Uses.
    ("one gram less", change("uses", 0, grams=1999), ("Roast squash", "3600.00 g", "3599.00 g")),
    ("one gram more", change("uses", 5, grams=401), ("Carrot salad", "401.00 g")),
    ("grams that are no number", change("uses", 0, grams=float("nan")), ("roast", "nan")),
    ("endless grams", change("uses", 0, grams=float("inf")), ("roast", "inf")),
    ("grams below nothing", change("uses", 0, grams=-2000.0), ("roast", "-2000")),
    ("absurd grams", change("uses", 0, grams=1e300), ("roast", "1e+300")),
    ("a use forgotten", drop("uses", 4), ("Carrot salad", "carrot", "800.00 g", "0.00 g")),
    ("a use twice", add("uses", PLAN.uses[4]), ("Carrot salad", "1600.00 g")),
    ("not in the recipe", add("uses", Use(date=MON, dish="roast", item="carrot", grams=5,
                                          lot=FARM_CARROT)), ("Roast squash", "carrot", "recipe")),
    ("used on a day not cooked", change("uses", 0, date=TUE), ("Roast squash", "not cooked")),
    ("used by an unknown dish", change("uses", 0, dish="stew"), ("stew",)),
    ("an unknown item used", change("uses", 0, item="yeti"), ("yeti",)),
    ("an unknown lot", change("uses", 0, lot="stock-77"), ("stock-77", "squash")),
    ("an uncut squash used", change("uses", 0, lot="stock-2"), ("stock-2", "cut or opened")),
    ("a lot of something else", change("uses", 4, lot="stock-1"), ("carrot", "lot of quinoa")),
    ("from an expired lot", change("uses", 6, lot="stock-3"), ("carrot", "2026-01-03")),
    ("bought after cooking", change("uses", 8, lot=f"bought-{WED}-mill-quinoa"),
     ("Pot of quinoa", "2026-01-05", "nothing yet")),
    ("opened after cooking", change("uses", 1, lot=f"opened-{WED}-{FARM_SQUASH}"),
     ("Roast squash", "2026-01-05", "nothing yet")),
    ("more than a lot holds", change("uses", 3, lot=f"opened-{MON}-{FARM_SQUASH}"),
     ("Roast squash", "holds only 0.00 g", FARM_SQUASH)),
    ("a pot made of itself", add("uses", POT_USE), ("Pot of quinoa", "before itself")),
    # What remains.
    ("a leftover forgotten", drop("left", 2), ("left", "carrot", "no such row")),
    ("a leftover invented", add("left", Left(item="carrot", grams=9, use_by=THU, value_cents=0,
                                             lot="stock-3")), ("carrot", "finds none")),
    ("a leftover twice", add("left", PLAN.left[2]), ("carrot", "second row")),
    ("a gram more left", change("left", 2, grams=801.0), ("carrot", "801.00", "800.00")),
    ("grams left NaN", change("left", 2, grams=float("nan")), ("carrot", "nan")),
    ("a use-by a day longer", change("left", 0, use_by=date(2026, 1, 15)), ("2026-01-14",)),
    ("a use-by invented", change("left", 3, use_by=THU), ("quinoa", "None")),
    ("a leftover a cent dearer", change("left", 0, value_cents=321), ("squash", "320")),
    ("an opened half with a value", change("left", 1, value_cents=60), ("squash", "0 cents")),
    ("a leftover of another name", change("left", 2, item="squash"), ("one of carrot",)),
    ("a leftover of no lot", change("left", 2, lot=""), ("carrot", "no lot")),
    ("a bin row forgotten", drop("binned", 1), ("binned", "Pot of quinoa", "no such row")),
    ("an expired lot hidden", drop("binned", 0), ("binned", "carrot", "stock-3")),
    ("unsold food hidden", drop("binned", 2), ("binned", "Roast squash", "2026-01-06")),
    ("binned a day late", change("binned", 1, date=THU), ("Pot of quinoa", "2026-01-07")),
    ("unsold on another day", change("binned", 3, date=MON), ("Carrot salad", "finds none")),
    ("a bin row a cent dearer", change("binned", 3, cost_cents=10), ("Carrot salad", "9 cents")),
    ("a gram less binned", change("binned", 0, grams=199.0), ("carrot", "200.00 g")),
    ("food binned twice", add("binned", PLAN.binned[2]), ("roast", "second row")),
    ("food binned that is not there", add("binned", Binned(date=WED, item="pot", grams=40,
                                                           cost_cents=0)), ("Pot", "finds none")),
]  # fmt: skip


@pytest.mark.parametrize(("plan", "words"), [c[1:] for c in SPOILT], ids=[c[0] for c in SPOILT])
def test_a_plan_spoilt_in_one_place_is_rejected_by_name(plan: Plan, words: tuple[str, ...]) -> None:
    verdict = verify(plan, WEEK)
    assert not verdict.passed
    assert names(verdict.breaches, *words), texts(verdict)


def with_dish(dish: str, **fields: Any) -> Cafe:
    cafe = small_cafe()
    changed = cafe.dishes[dish].model_copy(update=fields)
    return small_cafe(dishes=cafe.dishes | {dish: changed})


def with_ingredient(item: str, **fields: Any) -> Cafe:
    cafe = small_cafe()
    changed = cafe.ingredients[item].model_copy(update=fields)
    return small_cafe(ingredients=cafe.ingredients | {item: changed})


def with_supplier(supplier: str, **fields: Any) -> Cafe:
    cafe = small_cafe()
    changed = cafe.suppliers[supplier].model_copy(update=fields)
    return small_cafe(suppliers=cafe.suppliers | {supplier: changed})


def with_stock(at: int, **fields: Any) -> Cafe:
    stock = list(small_cafe().stock)
    stock[at] = stock[at].model_copy(update=fields)
    return small_cafe(stock=tuple(stock))


def with_slots(slots: int) -> Cafe:
    courses = small_cafe().courses
    main = Course(slots=slots, price_cents=1000, take_up=0.2, portion_g=300)
    return small_cafe(courses=courses | {"main": main})


STRICTER: list[tuple[str, Week, tuple[str, ...]]] = [
    ("opened squash keeps a day less", small_week(with_ingredient("squash", opened_keeps_days=2)),
     ("Roast squash", "2026-01-07", "400.00 g", "2026-01-06")),
    ("whole squash ends before it is cut", small_week(with_ingredient("squash", keeps_days=2)),
     ("2026-01-07", "squash", FARM_SQUASH, "2026-01-06")),
    ("the stock squash ends on Sunday", small_week(with_stock(1, use_by=date(2026, 1, 4))),
     ("2026-01-05", "stock-2", "2026-01-04")),
    ("raw carrot must last while shown", small_week(with_ingredient("carrot", keeps_days=1)),
     ("Carrot salad", "carrot", "good on 2026-01-06")),
    ("a part a day too old", small_week(with_dish("pot", hold_days=2)),
     ("Carrot salad", "2026-01-07", "Pot of quinoa", "2026-01-06")),
    ("a part of a life of one day", small_week(with_dish("pot", hold_days=1)),
     ("Carrot salad", "shown on 2026-01-06", "last day is 2026-01-05")),
    ("the roast holds one day", small_week(with_dish("roast", hold_days=1)),
     ("Roast squash", "2026-01-06", "2026-01-05")),
    ("a larger step", small_week(with_dish("roast", step_portions=4)),
     ("Roast squash", "step of 4")),
    ("a larger smallest cook", small_week(with_dish("roast", min_portions=8)),
     ("Roast squash", "6 portions", "at least 8")),
    ("a smaller pan", small_week(with_dish("roast", max_portions=16)),
     ("Roast squash", "18 portions", "at most 16")),
    ("two places for mains", small_week(with_slots(2)), ("2026-01-05", "1 dishes", "main", "2")),
    ("no place for mains", small_week(with_slots(0)), ("2026-01-05", "1 dishes", "main", "0")),
    ("a dearer minimum order", small_week(with_supplier("farm", minimum_order_cents=2001)),
     ("Hill Farm", "2026-01-05", "2000", "2001")),
    ("a longer lead", small_week(with_supplier("farm", lead_days=4)),
     ("Hill Farm", "2026-01-01")),
    ("after the cut-off", small_week(planned_at=time(15)), ("Hill Farm", "14:00")),
    ("the mill stays away", small_week(with_supplier("mill", delivers=frozenset({3}))),
     ("Old Mill", "2026-01-07")),
    ("no price yet", small_week(small_cafe(offers=(
        *small_cafe().offers[:2],
        offer("quinoa", "mill", 900).model_copy(
            update={"prices": (small_cafe().offers[2].prices[1].model_copy(
                update={"from_date": WED}),)}),
    ))), ("quinoa", "no price yet")),
    ("less quinoa in stock", small_week(with_stock(0, grams=399.0)),
     ("Pot of quinoa", "stock-1", "399.00 g")),
    ("a second part in the recipe", small_week(with_dish("roast", lines=(
        line("squash", 1600, yield_pct=80), line("carrot", 10)))),
     ("Roast squash", "18.00 g", "carrot")),
    ("a worse yield", small_week(with_dish("roast", lines=(line("squash", 1600, yield_pct=79),))),
     ("Roast squash", "3645.57 g", "squash")),
    ("dearer disposal", small_week(small_cafe(money=Money(disposal_cents_per_kg=21))),
     ("waste", "-523", "-525")),
    ("fewer guests", small_week(small_cafe(covers={})), ("takings", "29451", "0")),
    ("closed on Thursday", small_week(small_cafe(open_days=frozenset({0, 1, 2, 4, 5}))),
     ("left", "carrot", FARM_CARROT, "finds none")),
    ("a hard rule broken", small_week(rules=(MostShowings(dish="roast", most=2),)),
     ("Roast squash", "3 times")),
    ("cut already, so nothing to cut", small_week(with_stock(1, state=State.OPENED)),
     ("stock-2", "not a lot of whole pieces")),
]  # fmt: skip


@pytest.mark.parametrize(("week", "words"), [c[1:] for c in STRICTER], ids=[c[0] for c in STRICTER])
def test_the_same_plan_fails_in_a_stricter_cafe(week: Week, words: tuple[str, ...]) -> None:
    verdict = verify(PLAN, week)
    assert not verdict.passed
    assert names(verdict.breaches, *words), texts(verdict)


def test_a_part_must_last_until_the_dish_is_last_shown() -> None:
    """Cooked on Tuesday for Wednesday from a pot whose last day is Tuesday."""
    cooks = [cook.model_copy(update={"date": TUE}) if i == 3 else cook
             for i, cook in enumerate(PLAN.cooks)]  # fmt: skip
    shown = [row.model_copy(update={"cooked_on": TUE}) if i == 5 else row
             for i, row in enumerate(PLAN.shown)]  # fmt: skip
    uses = [use.model_copy(update={"date": TUE}) if i in (6, 7) else use
            for i, use in enumerate(PLAN.uses)]  # fmt: skip
    plan = header(cooks=tuple(cooks), shown=tuple(shown), uses=tuple(uses))
    assert texts(verify(plan, WEEK)) == ""
    verdict = verify(plan, small_week(with_dish("pot", hold_days=2)))
    words = ("Carrot salad", "Pot of quinoa", "last day is 2026-01-06", "good on 2026-01-07")
    assert names(verdict.breaches, *words), texts(verdict)


def test_a_dish_is_not_cooked_further_ahead_than_the_kitchen_allows() -> None:
    plan = header(
        cooks=(PLAN.cooks[0].model_copy(update={"shown": (TUE,)}), *PLAN.cooks[1:]),
        shown=PLAN.shown[1:],
    )
    verdict = verify(plan, small_week(small_cafe(kitchen=Kitchen(cook_ahead_days=0))))
    assert names(verdict.breaches, "Roast squash", "first shown on 2026-01-06", "0 days")
    allowed = verify(plan, small_week(small_cafe(kitchen=Kitchen(cook_ahead_days=1))))
    assert "first shown on" not in texts(allowed)


def test_a_dish_is_not_shown_before_it_is_cooked() -> None:
    cook, *others = PLAN.cooks
    late = [row.model_copy(update={"cooked_on": TUE}) for row in PLAN.shown[:2]]
    verdict = verify(
        header(
            cooks=(cook.model_copy(update={"date": TUE}), *others),
            shown=(*late, *PLAN.shown[2:]),
            uses=PLAN.uses[2:],
        ),
        WEEK,
    )
    assert names(verdict.breaches, "Roast squash", "cooked on 2026-01-06", "shown on 2026-01-05")


def test_a_piece_is_not_cut_before_it_is_delivered() -> None:
    late = PLAN.buys[0].model_copy(update={"deliver_on": WED})
    early = Open(date=TUE, ingredient="squash", units=1, lot=f"bought-{WED}-farm-squash")
    plan = header(buys=(*PLAN.buys, late), opens=(*PLAN.opens, early))
    assert names(verify(plan, WEEK).breaches, "2026-01-06", early.lot, "not been delivered")


def test_two_cooks_that_need_each_other_are_refused() -> None:
    swap = (
        Use(date=MON, dish="pot", item="salad", grams=10, lot=f"cooked-{MON}-salad"),
        *PLAN.uses,
    )
    verdict = verify(header(uses=swap), WEEK)
    assert names(verdict.breaches, "Carrot salad", "Pot of quinoa", "before the other")


def test_a_lot_used_before_an_older_one_is_noted_but_does_not_fail() -> None:
    """An older lot of carrots would have served on Wednesday, and is left behind."""
    older = small_cafe().stock[2].model_copy(update={"id": "stock-4", "use_by": WED})
    week = small_week(small_cafe(stock=(*small_cafe().stock, older)))
    verdict = verify(PLAN, week)
    assert names(verdict.out_of_order, "Carrot salad", "stock-4", "2026-01-07")
    assert not any("stock-4 ends" in breach.text for breach in verdict.breaches)
    assert not names(verdict.out_of_order, "2026-01-05", "stock-2")


def test_the_priced_rule_costs_its_breaches_and_a_free_one_nothing() -> None:
    week = small_week(rules=(MostShowings(dish="roast", most=1, price_cents=10.3),))
    verdict = verify(PLAN, week)
    assert verdict.terms_cents["rule_breaches"] == -21  # 2 showings over, 20.6 cents
    assert verdict.rule_results[0].slack == -2
    assert len(verdict.priced) == 1


def test_an_opened_bag_of_dry_goods_keeps_its_value() -> None:
    assert texts(verify(PLAN, small_week(with_stock(0, state=State.OPENED)))) == ""


def test_whole_things_are_counted_in_pieces_whatever_the_pack_weighs() -> None:
    """A bag of 1040 g holds one squash of 1000 g: cost 400 / 1040 a gram, 307.69 left."""
    bag = small_cafe().offers[0].model_copy(update={"pack_g": 1040.0})
    verdict = verify(PLAN, small_week(small_cafe(offers=(bag, *small_cafe().offers[1:]))))
    assert names(verdict.breaches, "left", "squash", "320 cents", "should be 307 cents")
    assert "replay finds" not in texts(verdict)


NUMBERS = {
    "cooks": ("portions",),
    "shown": ("portions", "place"),
    "buys": ("packs", "pack_qty", "cost_cents"),
    "opens": ("units",),
    "uses": ("grams",),
    "left": ("grams", "value_cents"),
    "binned": ("grams", "cost_cents"),
}
DATES = {
    "cooks": ("date",),
    "shown": ("date", "cooked_on"),
    "buys": ("deliver_on",),
    "opens": ("date",),
    "uses": ("date",),
    "left": ("use_by",),
    "binned": ("date",),
}
IDS = {
    "cooks": ("dish",),
    "shown": ("dish", "course"),
    "buys": ("supplier", "ingredient"),
    "opens": ("ingredient", "lot"),
    "uses": ("dish", "item", "lot"),
    "left": ("item", "lot"),
    "binned": ("item", "lot"),
}
ANY_ID = st.sampled_from(
    ["roast", "salad", "pot", "squash", "carrot", "quinoa", "farm", "mill", "main", "", "stock-1",
     "stock-2", "stock-3", FARM_SQUASH, FARM_CARROT, MONDAY_POT, f"opened-{MON}-stock-2"]
)  # fmt: skip
ANY_DATE = st.one_of(
    st.dates(), st.integers(-3, 5).map(lambda n: MON + timedelta(days=n)), st.just(FRI)
)
ANY_INT = st.one_of(st.integers(-3, 30), st.integers())
ANY_FLOAT = st.one_of(st.floats(), st.floats(0, 2000), st.integers(0, 40).map(lambda n: n * 100.0))


@st.composite
def mutations(draw: st.DrawFn) -> Callable[[Plan], Plan]:
    """One field of one row (or of the plan itself) set to something else of its type."""
    fields = draw(st.sampled_from([NUMBERS, DATES, IDS]))
    table = draw(st.sampled_from(sorted(fields)))
    name = draw(st.sampled_from(fields[table]))
    at = draw(st.integers(0, len(getattr(PLAN, table)) - 1))
    kinds: dict[int, st.SearchStrategy[Any]] = {
        id(NUMBERS): ANY_FLOAT if name in ("grams", "pack_qty") else ANY_INT,
        id(DATES): ANY_DATE,
        id(IDS): ANY_ID,
    }
    value = draw(kinds[id(fields)])

    def mutate(plan: Plan) -> Plan:
        rows = list(getattr(plan, table))
        rows[at] = rows[at].model_copy(update={name: value})
        return plan.model_copy(update={table: tuple(rows)})

    return mutate


def same_food(one: Plan, other: Plan) -> bool:
    """Whether two plans differ by no more than rounded grams."""
    for table in NUMBERS:
        for a, b in zip(getattr(one, table), getattr(other, table), strict=True):
            x, y = a.model_dump(), b.model_dump()
            rounded = [(x.pop(key, 0.0), y.pop(key, 0.0)) for key in ("grams", "pack_qty")]
            if x != y or any(abs(p - q) > 0.02 for p, q in rounded):
                return False
    return True


@settings(max_examples=400, deadline=None)
@given(mutations())
def test_any_other_number_date_or_name_is_the_same_plan_or_rejected(
    mutate: Callable[[Plan], Plan],
) -> None:
    plan = mutate(PLAN)
    verdict = verify(plan, WEEK)
    assert not verdict.passed or same_food(PLAN, plan)


@settings(max_examples=200, deadline=None)
@given(st.lists(mutations(), min_size=2, max_size=6), st.data())
def test_a_plan_mangled_in_many_places_never_raises(
    mutate: list[Callable[[Plan], Plan]], data: st.DataObject
) -> None:
    plan = PLAN
    for each in mutate:
        plan = each(plan)
    table = data.draw(st.sampled_from(sorted(NUMBERS)))
    rows = data.draw(st.permutations(getattr(plan, table)))
    kept = data.draw(st.integers(0, len(rows)))
    verdict = verify(plan.model_copy(update={table: tuple(rows[:kept])}), WEEK)
    assert all(breach.text for breach in verdict.breaches)


def test_an_empty_plan_is_rejected_for_its_empty_cabinet() -> None:
    empty = {table: () for table in NUMBERS}
    verdict = verify(header(**empty), WEEK)
    assert names(verdict.breaches, "2026-01-06", "0 dishes", "salad")


COVERS = st.one_of(
    st.lists(st.floats(0, 80), min_size=3, max_size=3)
    .map(sorted)
    .map(lambda g: Cover(low=g[0], expected=g[1], high=g[2])),
    st.lists(st.tuples(st.integers(0, 80), st.integers(1, 9)), min_size=1, max_size=4).map(
        lambda rows: Cover(
            expected=1, low=0, high=80,
            chances=tuple((float(g), w / sum(w for _, w in rows)) for g, w in rows),
        )
    ),
)  # fmt: skip


def guests_at(cover: Cover, share: float) -> float:
    """Guests on a day busier than `share` of such days."""
    if not cover.chances:
        low, middle, high = cover.low, cover.expected, cover.high
        if share < 0.5:
            return low + 2 * share * (middle - low)
        return middle + (2 * share - 1) * (high - middle)
    total = 0.0
    for guests, chance in sorted(cover.chances):
        total += chance
        if share < total:
            return guests
    return max(guests for guests, _ in cover.chances)


@settings(max_examples=60, deadline=None)
@given(st.lists(COVERS, min_size=3, max_size=3), st.integers(1, 40), st.integers(1, 3))
def test_expected_sales_agree_with_an_average_over_a_thousand_weeks(
    covers: list[Cover], portions: int, days: int
) -> None:
    cafe = small_cafe(covers={0: covers[0], 1: covers[1], 2: covers[2]})
    shown, dish = [MON, TUE, WED][:days], cafe.dishes["salad"]
    sold = Ground(small_week(cafe)).expected_sold(dish, shown, portions)
    weeks = 1000
    total = 0.0
    for n in range(weeks):
        guests = sum(guests_at(cafe.cover_on(day), (n + 0.5) / weeks) for day in shown)
        total += min(guests * 0.1 * 1.1, portions)
    assert sold == pytest.approx(total / weeks, abs=0.05)
    planned = demand.expected_sold(demand.of_dish(cafe, dish, shown), portions)
    assert sold == pytest.approx(planned, abs=1e-9)


def test_the_verifier_loads_no_solver_and_no_tables() -> None:
    code = """
import sys
from optimiser.verify import verify
from tests.small_cafe import small_plan, small_week
assert verify(small_plan(), small_week()).passed
print(*sorted(sys.modules))
"""
    here = Path(__file__).parent.parent
    command = [sys.executable, "-c", code]
    run = subprocess.run(command, capture_output=True, text=True, check=True, cwd=here)
    loaded = set(run.stdout.split())
    assert "optimiser.verify" in loaded
    assert not loaded & {"pulp", "highspy", "numpy", "pandas", "streamlit"}
    planner = ("lp", "model", "objective", "solver", "search", "runs", "accounts")
    assert not loaded & {f"optimiser.{name}" for name in planner}


def test_the_verifier_shares_no_code_with_the_planner() -> None:
    """Its modules see the facts, the week, the plan and one another, nothing else."""
    own = {"verify", "ground", "wellformed", "board", "cook_order", "replay", "recount"}
    for name in own:
        text = (Path(optimiser.__file__).parent / f"{name}.py").read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.Import):
                assert not any(alias.name.startswith("optimiser") for alias in node.names)
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("optimiser"):
                module = (node.module or "").removeprefix("optimiser.")
                assert module in own | {"cafe", "house", "plan", "week"}, f"{name} imports {module}"
                if module == "week":
                    assert {alias.name for alias in node.names} <= {"Week", "DRY_KEEPS_DAYS"}


def test_the_rows_used_here_cover_every_table_of_a_plan() -> None:
    """A new table of rows in Plan needs mutations of its own here."""
    tables = {
        name
        for name, field in Plan.model_fields.items()
        if str(field.annotation).startswith("tuple")
    }
    assert tables == {*NUMBERS, "rules", "stretched"}  # stretched: see test_stock_rules
    for table, kind in zip(NUMBERS, (Cook, Shown, Buy, Open, Use, Left, Binned), strict=True):
        checked = {*NUMBERS[table], *DATES[table], *IDS[table]}
        assert set(kind.model_fields) - checked <= {"shown", "pack_unit", "date", "lot"}


def test_the_share_of_each_day_follows_its_guests() -> None:
    """All portions on one of two days would sell on the other what is not there."""
    plan = small_plan()
    cook = next(cook for cook in plan.cooks if len(cook.shown) > 1)
    rows = [r for r in plan.shown if (r.dish, r.cooked_on) == (cook.dish, cook.date)]
    total = sum(row.portions for row in rows)
    moved = [row.model_copy(update={"portions": 0}) for row in rows]
    moved[0] = rows[0].model_copy(update={"portions": total})
    shown = tuple(r for r in plan.shown if r not in rows) + tuple(moved)
    verdict = verify(plan.model_copy(update={"shown": shown}), small_week())
    assert not verdict.passed
    assert any("the guests' share is" in breach.text for breach in verdict.breaches)


def test_optimal_is_not_said_of_a_plan_far_below_its_bound() -> None:
    plan = small_plan()
    far = {"status": "optimal", "bound_cents": plan.objective_cents + 1000}
    verdict = verify(plan.model_copy(update=far), small_week())
    assert any("well above" in breach.text for breach in verdict.breaches)
