"""Corners of the rules about plates, margins, deliveries, ovens and closed days."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations, product
from statistics import mean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.cafe import Cafe, Cover, DatedPrice, Offer, Supplier
from optimiser.costs import Costs
from optimiser.model import Model
from optimiser.plan import Plan, Shown
from optimiser.rules import Rule
from optimiser.rules.cooking import ClosedDayLife, CooksDaily, OvenSettings
from optimiser.rules.kitchen import EvenLoad
from optimiser.rules.margins import DeliveryBudget, PlateCostCap, PortionMargin
from optimiser.rules.money import FoodCostPct
from optimiser.runs import Run
from optimiser.week import Week
from tests.board_weeks import cafe as board_cafe
from tests.rule_cases.base import CAFE, DAYS, LENTILS_MON, bought, on_days, plan
from tests.rule_cases.cooking import HOT, REST_WED, with_dishes
from tests.rule_cases.money import BUSY
from tests.rule_weeks import FRI, MON, SAT, THU, TUE, amounts, fake_rows, tiny_cafe, week_plan
from tests.test_rules_agree import weeks
from tests.test_rules_in_the_model import compare

PLANNED_ON = MON - timedelta(days=3)


def plates(week: Plan, cafe: Cafe, day: date) -> Iterator[float]:
    """Cents of ingredients of every plate a guest can pick that day."""
    costs = Costs(cafe, week.planned_on)
    picks = [combinations(week.dishes_on(day, course), k) for course, k in cafe.plate.items()]
    for picked in product(*picks):
        yield sum(costs.portion_cents(dish) for dishes in picked for dish in dishes)


@settings(max_examples=40, deadline=None)
@given(st.data(), st.integers(0, 2), st.integers(0, 1), st.integers(20, 330))
def test_plates_cost_what_all_plates_tried_one_by_one_cost(data, salads, mains, most_cents):
    cafe = tiny_cafe(plate={"salad": salads, "main": mains})
    week = data.draw(weeks(cafe))
    for name, worth in (("dearest", max), ("average", mean)):
        over = [worth(list(plates(week, cafe, day))) - most_cents for day in DAYS]
        expected = pytest.approx(sorted(cents for cents in over if cents > 0.01), abs=1e-5)
        by_rows, by_check = amounts(PlateCostCap(most_cents=most_cents, plate=name), week, cafe)
        assert by_rows == expected and by_check == expected


def test_a_plate_that_no_dish_of_the_book_makes_too_dear_needs_no_rows():
    dear = plan(*on_days("quinoa_salad", "kale_salad", "tofu_bake"))
    assert fake_rows(PlateCostCap(most_cents=220, plate="dearest"), dear, CAFE).rows == []
    assert len(fake_rows(PlateCostCap(most_cents=219, plate="dearest"), dear, CAFE).rows) == 6


def test_a_rule_about_plates_needs_plates():
    assert "no [plate]" in PlateCostCap(most_cents=5).faults(tiny_cafe(plate={}))[0]
    faults = PlateCostCap(most_cents=5).faults(tiny_cafe(plate={"salad": 3, "dessert": 1}))
    assert "has 2 places" in faults[0] and "no course 'dessert'" in faults[1]


def test_the_margin_is_that_of_the_dish_s_own_price():
    cheap = tiny_cafe(dishes=with_dishes(lentil_salad={"price_cents": 540}))
    rule = PortionMargin(least_cents=500)
    assert amounts(rule, plan(LENTILS_MON), CAFE) == ([], [])
    assert amounts(rule, plan(LENTILS_MON), cheap) == ([10], [10])


@settings(max_examples=30, deadline=None)
@given(st.data(), st.floats(3, 15))
def test_food_cost_by_day_is_the_same_by_rows_and_by_guests(data, pct):
    by_rows, by_check = amounts(FoodCostPct(pct=pct, by="day"), data.draw(weeks(BUSY)), BUSY)
    assert by_rows == pytest.approx(by_check, abs=1e-5)


def test_food_cost_by_day_counts_what_an_uncertain_day_leaves_unsold():
    unsure = {day: Cover(expected=6, low=1, high=12) for day in range(7)}
    cafe = board_cafe().model_copy(update={"covers": unsure})
    kept, broken = compare({"kind": "food_cost_pct", "pct": 4.0, "by": "day"}, cafe)
    assert kept and broken


def test_without_guests_all_food_of_the_day_is_too_much():
    (breach,) = FoodCostPct(by="day").check(plan(LENTILS_MON), CAFE)
    assert (breach.amount, breach.day) == (500, MON)
    (phrase,) = FoodCostPct(by="day").concede(plan(LENTILS_MON), CAFE, [breach])
    assert phrase == ("AUD 5.00 more of food", MON)


def test_each_supplier_has_a_budget_of_its_own_unless_one_is_named():
    kilo = {"pack_qty": 1, "pack_unit": "kg", "pack_g": 1000}
    price = (DatedPrice(from_date=None, price_cents=900),)
    farm = Offer(ingredient="kale", supplier="farm", prices=price, **kilo)
    lentils = next(offer for offer in CAFE.offers if offer.ingredient == "lentil")
    suppliers = {**CAFE.suppliers, "farm": Supplier(id="farm", name="Farm", delivers={0})}
    cafe = tiny_cafe(suppliers=suppliers, offers=(lentils, farm))
    kale = bought(2, "kale", 900).model_copy(update={"supplier": "farm"})
    week = plan(buys=(bought(3), kale))
    assert amounts(DeliveryBudget(budget_cents=1800), week, cafe) == ([], [])
    assert amounts(DeliveryBudget(budget_cents=1400), week, cafe) == ([100, 400], [100, 400])
    farm_only = DeliveryBudget(budget_cents=1400, supplier="farm")
    assert amounts(farm_only, week, cafe) == ([400], [400])
    found = farm_only.concede(week, cafe, farm_only.check(week, cafe))
    assert found == [("AUD 18.00 for a delivery from Farm instead of AUD 14.00", MON)]


def groups(numbers: list[float]) -> Iterator[list[list[float]]]:
    """Every way to put numbers into groups."""
    if not numbers:
        yield []
        return
    first, *rest = numbers
    for grouped in groups(rest):
        yield [[first], *grouped]
        for n, group in enumerate(grouped):
            yield [*grouped[:n], [first, *group], *grouped[n + 1 :]]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from([None, *range(120, 260, 10)]), min_size=6, max_size=6),
    st.sets(st.integers(0, 5)),
    st.sampled_from([0, 5, 10, 17.5, 30]),
    st.integers(1, 3),
)
def test_oven_temperatures_are_the_fewest_of_all_groupings(oven_c, cooked, within_c, limit):
    names = ("lentil_salad", "kale_salad", "beet_salad", "quinoa_salad", "soup", "stock_base")
    hot = {dish: {"oven_min": 30, "oven_c": c} for dish, c in zip(names, oven_c, strict=True)}
    cafe = tiny_cafe(dishes=with_dishes(**hot))
    cooks = [(names[n], MON, () if names[n] == "stock_base" else (MON,)) for n in cooked]
    known = [float(oven_c[n]) for n in cooked if oven_c[n] is not None]
    fewest = min(
        len(grouped)
        for grouped in groups(known)
        if all(max(group) - min(group) <= 2 * within_c for group in grouped)
    )
    expected = [fewest - limit] if fewest > limit else []
    rule = OvenSettings(settings=limit, within_c=within_c)
    assert amounts(rule, week_plan(cafe, cooks), cafe) == (expected, expected)


def test_dishes_of_unknown_oven_temperature_are_counted_in_the_sentence():
    assert "1 dish of unknown temperature not counted" in OvenSettings(settings=1).describe(CAFE)
    known = tiny_cafe(dishes=with_dishes(grain_bake={"oven_c": 200.0}))
    assert "unknown" not in OvenSettings(settings=1).describe(known)
    cold = tiny_cafe(dishes={"lentil_salad": CAFE.dishes["lentil_salad"]})
    assert "give oven_c" in OvenSettings(settings=1).faults(cold)[0]


def test_a_rule_that_the_whole_book_keeps_adds_no_rows():
    week = plan(*on_days("tofu_bake", "pumpkin_bake"))
    assert fake_rows(OvenSettings(settings=2), week, CAFE).helpers == []
    assert fake_rows(OvenSettings(settings=1), week, CAFE).helpers
    assert fake_rows(CooksDaily(cooks=20), week, CAFE).rows == []


@settings(max_examples=40, deadline=None)
@given(st.data(), st.integers(1, 3))
def test_closed_days_within_random_weeks(data, spare_days):
    """The cafe is closed on Wednesday and Thursday; days shown then are moved aside."""
    cafe = tiny_cafe(
        open_days=frozenset({0, 1, 4, 5}),
        dishes=with_dishes(**{dish: {"hold_days": 6} for dish in CAFE.dishes}),
    )
    days = (MON, TUE, FRI, SAT)
    cooks = []
    for dish in ("lentil_salad", "kale_salad", "tofu_bake"):
        ends = sorted(data.draw(st.sets(st.sampled_from(range(1, 4)))) | {0, 4})
        cooks += [(dish, days[a], days[a:b]) for a, b in zip(ends, ends[1:], strict=False)]
    by_rows, by_check = amounts(ClosedDayLife(spare_days=spare_days), week_plan(cafe, cooks), cafe)
    # By hand: 6 days from Monday end on Saturday, from Tuesday on Sunday.
    by_hand = 0
    for _, cooked_on, shown in cooks:
        left = 5 - (shown[-1] - cooked_on).days
        if cooked_on < FRI and left < spare_days:
            by_hand += sum(day >= FRI for day in shown)
    assert by_rows == by_check == [1] * by_hand


def of_one_cook(run: Run, days: int) -> Plan:
    """A plan of one run alone."""
    rows = [
        Shown(date=day, course=run.course, dish=run.dish, portions=1, cooked_on=run.cook_day)
        for day in run.shown
    ]
    return plan(shown=tuple(rows), days=days)


def broken_rows(rule: Rule, model: Model, run: Run) -> int:
    """Rows of the rule in which a run stands."""
    rows = [row for row in model.lp.rows if row.name.startswith(f"r0_{rule.kind}__")]
    return sum(model.run_column[run.index] in row.terms for row in rows)


@pytest.mark.parametrize("spare_days", [1, 2])
def test_every_run_over_a_sunday_inside_a_plan_of_two_weeks_is_judged_alike(spare_days):
    cafe = BUSY.model_copy(update={"dishes": with_dishes(lentil_salad={"hold_days": 4})})
    rule = ClosedDayLife(spare_days=spare_days)
    model = Model(Week(cafe, (rule,), MON, PLANNED_ON, 14))
    by_rows = {run.name: broken_rows(rule, model, run) for run in model.runs}
    by_check = {run.name: len(rule.check(of_one_cook(run, 14), cafe)) for run in model.runs}
    assert by_rows == by_check
    over_sunday = [run for run in model.runs if run.cook_day <= SAT < run.shown[-1]]
    broken = {(run.dish, run.cook_day, run.shown) for run in over_sunday if by_rows[run.name]}
    monday = MON + timedelta(days=7)
    assert ("kale_salad", SAT, (SAT, monday)) in broken
    assert (("lentil_salad", SAT, (SAT, monday)) in broken) == (spare_days == 2)
    assert ("lentil_salad", FRI, (FRI, SAT, monday)) in broken
    assert all(by_rows[run.name] == 0 for run in model.runs if run.shown[-1] <= SAT)


def test_a_closed_day_inside_a_plan_of_two_weeks():
    monday, rule = MON + timedelta(days=7), ClosedDayLife(spare_days=1)
    over_sunday = plan(("kale_salad", SAT, (SAT, monday)), days=14)
    assert amounts(rule, over_sunday, CAFE) == ([1], [1])
    fresh = plan(("kale_salad", SAT, (SAT,)), ("kale_slaw", monday, (monday,)), days=14)
    assert amounts(rule, fresh, CAFE) == ([], [])


@pytest.mark.parametrize(
    ("rule", "week", "cafe", "words"),
    [
        (
            PlateCostCap(most_cents=195),
            plan(*on_days("kale_salad", "quinoa_salad", "tofu_bake", days=(MON,))),
            CAFE,
            "AUD 2.15 of ingredients on the average plate instead of AUD 1.95",
        ),
        (
            PortionMargin(least_cents=560),
            plan(LENTILS_MON),
            CAFE,
            "let Lentil salad earn AUD 5.50 a portion instead of at least AUD 5.60",
        ),
        (
            FoodCostPct(pct=8, by="day"),
            plan(LENTILS_MON),
            BUSY,
            "8.4 % of the takings for food instead of 8 % (AUD 1.00 more of food)",
        ),
        (
            OvenSettings(settings=1),
            plan(*on_days("tofu_bake", "pumpkin_bake", days=(MON,))),
            HOT,
            "2 oven temperatures instead of 1",
        ),
        (
            CooksDaily(cooks=3),
            plan(*on_days("lentil_salad", "kale_salad", "soup", "tofu_bake", days=(MON,))),
            CAFE,
            "4 cooks instead of 3",
        ),
    ],
)
def test_a_rule_gives_way_in_its_own_parameters(rule: Rule, week: Plan, cafe: Cafe, words: str):
    assert rule.concede(week, cafe, rule.check(week, cafe)) == [(words, MON)]


def test_what_gives_way_names_the_life_left_and_the_heaviest_day():
    life = ClosedDayLife(spare_days=2)
    week = plan(("lentil_salad", TUE, (TUE, THU, FRI)))
    text = "1 day of life left for Lentil salad after the closed day instead of 2"
    assert life.concede(week, REST_WED, life.check(week, REST_WED)) == [(text, THU), (text, FRI)]
    load = EvenLoad(station="oven", most_min=60)
    heavy = plan(*on_days("tofu_bake", "pumpkin_bake", days=(MON,)))
    (breach,) = load.check(heavy, CAFE)
    assert breach.day == MON
    text = "120 oven minutes on the heaviest day instead of 60"
    assert load.concede(heavy, CAFE, [breach]) == [(text, None)]
