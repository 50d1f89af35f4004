"""The larder's rows: days left, what the hand-made week does with each lot, use this up."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from optimiser.cafe import Lot, State
from optimiser.larder import (
    CountFrom,
    Urgency,
    asked_by,
    count_from,
    own_rule,
    shelves,
    urgency,
    why_not,
    with_use_up,
    without_use_up,
)
from optimiser.larder_plan import leftovers, openings, stories, weight
from optimiser.rules import parse_rule
from optimiser.week import Week
from tests.small_cafe import FRI, MON, SAT, TUE, WED, small_cafe, small_plan, small_week


def lot(count: int, item: str, use_by: date | None, **fields: Any) -> Lot:
    given: dict[str, Any] = {"state": State.WHOLE, "qty": 1, "unit": "kg", "grams": 1000}
    return Lot(id=f"stock-{count}", item=item, use_by=use_by, **(given | fields))


def week_with(*lots: Lot, **changes: Any) -> Week:
    return small_week(small_cafe(stock=lots, **changes))


@pytest.mark.parametrize(
    ("days_left", "group"),
    [
        (-1, Urgency.PAST),
        (0, Urgency.TODAY),
        (1, Urgency.SOON),
        (2, Urgency.SOON),
        (3, Urgency.WEEK),
        (6, Urgency.WEEK),
        (7, Urgency.LATER),
        (None, Urgency.UNDATED),
    ],
)
def test_a_lot_is_in_the_group_of_its_last_day(days_left, group):
    assert urgency(days_left) is group


def test_lots_stand_by_their_last_day_in_words_and_in_their_own_unit():
    week = week_with(
        lot(1, "quinoa", None, qty=1.5),
        lot(2, "carrot", FRI),
        lot(3, "carrot", date(2026, 1, 1)),
        lot(4, "squash", SAT, qty=2, unit="each", units=2),
        lot(5, "squash", WED, state=State.OPENED, qty=0.5, unit="each", grams=500),
    )
    rows = [(row.lot.id, row.urgency, row.amount, row.when) for row in shelves(week, FRI)]
    assert rows == [
        ("stock-3", Urgency.PAST, "1 kg", "was to be used by Thu 1 Jan, 1 day ago"),
        ("stock-2", Urgency.TODAY, "1 kg", "today is its last day, Fri 2 Jan"),
        ("stock-4", Urgency.SOON, "2 pieces", "until tomorrow, Sat 3 Jan"),
        ("stock-5", Urgency.WEEK, "0.5 piece", "5 more days, Wed 7 Jan"),
        ("stock-1", Urgency.UNDATED, "1.5 kg", "no date on it"),
    ]


def test_a_far_date_has_its_year():
    (row,) = shelves(week_with(lot(1, "quinoa", date(2027, 6, 30))), FRI)
    assert row.when.endswith("days, Wed 2027-06-30")


def test_the_life_once_opened_is_told_of_what_is_opened_or_will_be():
    week = week_with(
        lot(1, "squash", WED, qty=1, unit="each", units=1),
        lot(2, "squash", WED, state=State.OPENED),
        lot(3, "carrot", WED),
        lot(4, "pot", WED, state=State.COOKED),
    )
    told = {row.lot.id: row.opened_life for row in shelves(week, FRI)}
    assert told["stock-1"] == "3 days once opened"
    assert told["stock-2"].startswith("opened, 3 days at most")
    assert told["stock-3"] == "" and told["stock-4"] == ""  # weighed, cooked: nothing to open


def test_days_are_counted_from_today():
    for today in (TUE, date(2030, 1, 1)):  # this cafe names no week of its own
        assert count_from(small_week(), today) == CountFrom(today, "")


@pytest.mark.parametrize("away", [timedelta(days=-4), timedelta(days=40)])
def test_a_week_named_in_the_settings_far_from_today_is_counted_from_its_planning_day(away):
    week = week_with(lot(1, "carrot", SAT), lot(2, "carrot", None), week=MON)
    found = count_from(week, FRI + away)
    assert found.day == FRI
    assert str(FRI) in found.note and str(FRI + away) in found.note
    assert ("1 more lot would be past" in found.note) == (away > timedelta())


@pytest.mark.parametrize("today", [FRI - timedelta(days=3), FRI, WED + timedelta(days=3)])
def test_near_a_named_week_today_counts(today):
    assert count_from(week_with(week=MON), today).day == today


# -- the plan


def test_the_story_of_each_lot_is_the_hand_made_weeks():
    found = stories(small_plan(), small_cafe())
    told = {lot: (story.uses, story.ending, story.binned) for lot, story in found.items()}
    assert told == {
        "stock-1": (("Mon Pot of quinoa 400 g",), "600 g left after the week", False),
        "stock-2": (("Mon Roast squash 2 kg",), "finished", False),
        "stock-3": ((), "not cooked: 200 g binned", True),
    }


def test_what_the_plan_opens_has_its_days_and_its_end():
    found = openings(small_plan(), small_cafe())
    rows = [(one.day, one.units, one.use_by, one.story.uses, one.story.ending) for one in found]
    assert rows == [
        (MON, 2, WED, ("Mon Roast squash 2 kg",), "finished"),
        (MON, 2, WED, ("Mon Roast squash 1.6 kg", "Wed Roast squash 400 g"), "finished"),
        (WED, 1, date(2026, 1, 9), ("Wed Roast squash 800 g",), "200 g left after the week"),
    ]


def test_leftovers_are_the_plans_with_what_they_are_worth():
    found = leftovers(small_plan(), small_cafe())
    rows = [(one.name, one.grams, one.value_cents, one.opened) for one in found]
    assert rows == [
        ("carrot", 800, 48, False),
        ("squash", 200, 0, True),
        ("squash", 1000, 320, False),
        ("quinoa", 1000, 1000, False),
        ("quinoa", 600, 513, False),
    ]


@pytest.mark.parametrize(
    ("grams", "said"),
    [(250, "250 g"), (9.5, "9.5 g"), (202.8, "203 g"), (1000, "1 kg"), (1850, "1.85 kg")],
)
def test_grams_are_said_as_a_kitchen_says_them(grams, said):
    assert weight(grams) == said


# -- use this up


def test_use_this_up_is_a_hard_rule_for_that_lot_and_can_be_taken_back():
    cafe = small_cafe()
    squash = cafe.stock[1]
    bar = parse_rule({"kind": "bar", "dish": "roast"})
    rules = with_use_up((bar,), squash)
    rule = own_rule(rules, squash)
    assert rule is not None and rule.price_cents is None and rule.share_pct == 100
    assert rule.faults(cafe) == []
    assert with_use_up(rules, squash) == rules
    assert without_use_up(rules, squash) == (bar,)
    assert own_rule(rules, cafe.stock[0]) is None


def test_the_plan_keeps_the_rule_of_the_lot_it_finishes_and_not_of_the_one_it_bins():
    cafe = small_cafe(stock=(small_cafe().stock[1], lot(3, "carrot", WED, grams=200)))
    (finished,), (binned,) = (with_use_up((), one) for one in cafe.stock)
    assert finished.check(small_plan(), cafe) == []
    assert [round(breach.amount) for breach in binned.check(small_plan(), cafe)] == [200]


def test_other_rules_that_want_a_lot_are_found():
    week = small_week()
    by_item = parse_rule({"kind": "use_up", "item": "squash"})
    squash, carrot = week.cafe.stock[1], week.cafe.stock[2]
    assert asked_by((by_item, *with_use_up((), squash)), squash, week) == [by_item]
    assert asked_by((by_item,), carrot, week) == []


def test_what_cannot_be_used_up_says_why():
    week = week_with(
        lot(1, "carrot", date(2026, 1, 1)),
        lot(2, "carrot", SAT),
        lot(3, "carrot", MON),
        lot(4, "salad", MON, state=State.COOKED),
    )
    why = {row.lot.id: why_not(row, week) for row in shelves(week, FRI)}
    assert why == {
        "stock-1": "past its date: not to be used",
        "stock-2": "its last day comes before Mon 2026-01-05, when the week opens",
        "stock-3": "",
        "stock-4": "no recipe uses it",
    }
