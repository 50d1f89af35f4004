"""House rules on weeks solved by hand: given these few rows, broken by so much."""

from __future__ import annotations

import inspect
from dataclasses import dataclass, field
from datetime import timedelta

import pytest
from pydantic import ValidationError

from optimiser.cafe import Cafe, Served
from optimiser.plan import Buy, Open, Plan, Use
from optimiser.rules import RULE_CLASSES, Rule, default_rules, parse_rule
from optimiser.rules.colour import ColoursDaily, MainColourCap
from optimiser.rules.kitchen import StationMinutes
from optimiser.rules.money import FoodCostPct, PortionCostCap, PurchaseBudget
from optimiser.rules.pins import Bar, NotTogether, Pin
from optimiser.rules.protein import PlateProtein, ProteinDishes
from optimiser.rules.spacing import Spacing
from optimiser.rules.stock import UseUp
from optimiser.rules.variety import HeroDaily, WeeklyCap
from tests.rule_weeks import (
    FRI,
    MON,
    SAT,
    THU,
    TUE,
    WED,
    amounts,
    fake_rows,
    limited,
    lot,
    tiny_cafe,
    week_plan,
)

DAYS = (MON, TUE, WED, THU, FRI, SAT)
CAFE = tiny_cafe()


def on_days(*dishes: str, days: tuple = DAYS) -> list:
    """The same dishes cooked fresh on each of `days`."""
    return [(dish, day, (day,)) for day in days for dish in dishes]


def plan(*cooks, cafe: Cafe = CAFE, **fields) -> Plan:
    return week_plan(cafe, list(cooks), **fields)


def bought(packs: int, item: str = "lentil", cost_cents: int = 500) -> Buy:
    return Buy(
        deliver_on=MON,
        supplier="market",
        ingredient=item,
        packs=packs,
        pack_qty=1,
        pack_unit="kg",
        cost_cents=packs * cost_cents,
    )


def used(grams: float, item: str, source: str) -> Use:
    return Use(date=MON, dish="quinoa_salad", item=item, grams=grams, lot=source)


@dataclass(frozen=True)
class Case:
    """A rule with a week that keeps it and one that breaks it by `amounts`."""

    rule: Rule
    kept: Plan
    broken: Plan
    amounts: list[float]
    cafe: Cafe = field(default=CAFE)


OVEN = tiny_cafe(kitchen=limited(oven_min=120))
SHELF = tiny_cafe(stock=(lot(1, "lentil", 500, WED),))
LENTILS_MON = ("lentil_salad", MON, (MON,))
LENTILS_TUE = ("lentil_salad", TUE, (TUE,))
LENTILS_WED = ("lentil_salad", WED, (WED,))
LENTILS_THU = ("lentil_salad", THU, (THU,))

SOLVED: dict[str, list[Case]] = {
    "spacing": [
        Case(Spacing(), plan(LENTILS_MON, LENTILS_WED), plan(LENTILS_MON, LENTILS_TUE), [1]),
        Case(
            Spacing(gap_days=4),
            plan(LENTILS_MON, ("lentil_salad", FRI, (FRI,))),
            plan(LENTILS_MON, LENTILS_TUE, LENTILS_THU),  # mon-thu holds 3, tue-fri 2
            [1, 2],
        ),
        Case(
            Spacing(one_cook_counts_once=True),
            plan(("lentil_salad", MON, (MON, TUE, WED)), ("lentil_salad", FRI, (FRI,))),
            plan(("lentil_salad", MON, (MON, TUE, WED)), LENTILS_THU),
            [1],
        ),
    ],
    "weekly_cap": [
        Case(
            WeeklyCap(),
            plan(LENTILS_MON, LENTILS_WED),
            plan(LENTILS_MON, LENTILS_WED, ("lentil_salad", FRI, (FRI,))),
            [1],
        )
    ],
    "hero_daily": [
        Case(
            HeroDaily(course="salad"),
            plan(*on_days("kale_salad", "kale_slaw", days=(MON,)), ("kale_bowl", TUE, (TUE,))),
            plan(*on_days("kale_salad", "kale_slaw", "kale_bowl", days=(MON,))),
            [1],
        )
    ],
    "colours_daily": [
        Case(
            ColoursDaily(colours=3),
            plan(*on_days("kale_salad", "beet_salad", "tofu_bake")),
            plan(
                *on_days("kale_salad", "beet_salad", "tofu_bake", days=DAYS[:-1]),
                *on_days("kale_salad", "kale_slaw", "tofu_bake", days=(SAT,)),
            ),
            [1],
        ),
        Case(
            ColoursDaily(colours=4, course="salad"),
            plan(*on_days("kale_salad", "beet_salad", "lentil_salad", "quinoa_salad")),
            plan(*on_days("kale_salad", "beet_salad", "tofu_bake")),
            [2] * 6,
        ),
    ],
    "main_colour_cap": [
        Case(
            MainColourCap(),
            plan(*on_days("kale_salad", "kale_slaw", "soup", days=(MON,))),
            plan(*on_days("kale_salad", "kale_slaw", "kale_bowl", days=(MON,))),
            [1],
        )
    ],
    "protein_dishes": [
        Case(
            ProteinDishes(dishes=1, protein_g=14),
            plan(*on_days("grain_bake")),
            plan(*on_days("tofu_bake", days=DAYS[:-1]), ("pumpkin_bake", SAT, (SAT,))),
            [1],
        )
    ],
    "plate_protein": [
        Case(  # leanest plate: kale 4 g + tofu 15 g; then beet 2 g + pumpkin 1 g
            PlateProtein(worst_g=19),
            plan(*on_days("lentil_salad", "kale_salad", "tofu_bake")),
            plan(
                *on_days("lentil_salad", "kale_salad", "tofu_bake", days=DAYS[:-1]),
                *on_days("lentil_salad", "beet_salad", "pumpkin_bake", days=(SAT,)),
            ),
            [16],
        ),
        Case(  # average plate: (10 + 4) / 2 + 15 = 22 g; then (10 + 2) / 2 + 1 = 7 g
            PlateProtein(average_g=22),
            plan(*on_days("lentil_salad", "kale_salad", "tofu_bake")),
            plan(*on_days("lentil_salad", "beet_salad", "pumpkin_bake")),
            [15] * 6,
        ),
        Case(  # two salads on the plate: the leaner two are 4 + 4 g, then 2 + 4 g
            PlateProtein(worst_g=8),
            plan(*on_days("lentil_salad", "kale_salad", "kale_slaw")),
            plan(*on_days("beet_salad", "kale_salad", "lentil_salad")),
            [2] * 6,
            tiny_cafe(plate={"salad": 2}),
        ),
    ],
    "portion_cost_cap": [
        Case(  # a portion is 100 g: kale 90 cents, tofu 120 cents
            PortionCostCap(cap_cents=90),
            plan(*on_days("kale_salad", "lentil_salad", "pumpkin_bake")),
            plan(*on_days("kale_salad", "tofu_bake", days=(MON, TUE))),
            [30, 30],
        )
    ],
    "food_cost_pct": [
        Case(  # 10 portions of lentils: 500 cents of food for 6000 of takings
            FoodCostPct(pct=8.5),
            plan(LENTILS_MON),
            plan(LENTILS_MON, ("kale_salad", MON, (MON,))),  # 1400 of food, 8.5 % of 12000
            [380],
        )
    ],
    "purchase_budget": [
        Case(
            PurchaseBudget(budget_cents=3000),
            plan(buys=(bought(6),)),
            plan(buys=(bought(7),)),
            [500],
        ),
        Case(  # 2 kg of quinoa for 2000 cents: 600 g used is 600 cents of spending
            PurchaseBudget(budget_cents=3000),
            plan(
                buys=(bought(4), bought(2, "quinoa", 1000)),
                uses=(used(600, "quinoa", f"bought-{MON}-market-quinoa"),),
            ),
            plan(
                buys=(bought(6), bought(2, "quinoa", 1000)),
                uses=(used(600, "quinoa", f"bought-{MON}-market-quinoa"),),
            ),
            [600],
        ),
    ],
    "station_minutes": [
        Case(
            StationMinutes(station="oven"),
            plan(*on_days("tofu_bake", "pumpkin_bake", days=(MON, TUE))),
            plan(*on_days("tofu_bake", "pumpkin_bake", "grain_bake", days=(MON,))),
            [60],
            OVEN,
        ),
        Case(  # a cook of 10 portions takes 20 + 10 minutes; the base has no extra fixed part
            StationMinutes(station="hands_on", share_pct=50),
            plan(LENTILS_MON, cafe=CAFE),
            plan(LENTILS_MON, ("stock_base", MON, ())),
            [10],
            tiny_cafe(kitchen=limited(hands_on_min=100)),
        ),
        Case(  # 10 portions for the cabinet and 5 for other dishes are one cook: 20 + 15
            StationMinutes(station="hands_on"),
            plan(LENTILS_MON),
            plan(("quinoa_salad", MON, (MON,)), extra=5),
            [5],
            tiny_cafe(kitchen=limited(hands_on_min=30)),
        ),
    ],
    "use_up": [
        Case(
            UseUp(item="lentil"),
            plan(uses=(used(200, "lentil", "stock-1"), used(300, "lentil", "stock-1"))),
            plan(uses=(used(300, "lentil", "stock-1"),)),
            [200],
            SHELF,
        ),
        Case(  # a whole pumpkin counts as used once it is cut
            UseUp(item="*", within_days=3, share_pct=50),
            plan(opens=(Open(date=TUE, ingredient="pumpkin", units=1, lot="stock-2"),)),
            plan(),
            [1000],
            tiny_cafe(
                stock=(
                    lot(1, "lentil", 500, THU),
                    lot(2, "pumpkin", 2000, WED, units=2),
                    lot(3, "quinoa", 900, None),
                    lot(4, "kale", 900, MON - timedelta(days=1)),
                )
            ),
        ),
    ],
    "pin": [
        Case(Pin(dish="lentil_salad", day=MON), plan(LENTILS_MON), plan(LENTILS_TUE), [1]),
        Case(Pin(dish="lentil_salad", day="tue"), plan(LENTILS_TUE), plan(LENTILS_MON), [1]),
    ],
    "bar": [
        Case(Bar(dish="lentil_salad", day=MON), plan(LENTILS_TUE), plan(LENTILS_MON), [1]),
        Case(Bar(dish="lentil_salad"), plan(), plan(LENTILS_MON, LENTILS_TUE), [1, 1]),
    ],
    "not_together": [
        Case(
            NotTogether(a="lentil_salad", b="kale_salad"),
            plan(LENTILS_MON, ("kale_salad", TUE, (TUE,))),
            plan(LENTILS_MON, ("kale_salad", MON, (MON,))),
            [1],
        )
    ],
}


CASES = [
    pytest.param(case, id=f"{kind}-{n}") for kind in SOLVED for n, case in enumerate(SOLVED[kind])
]


def test_every_rule_has_a_week_solved_by_hand():
    kinds = {rule.model_fields["kind"].default for rule in RULE_CLASSES}
    assert kinds == set(SOLVED)
    for kind, cases in SOLVED.items():
        assert cases and {case.rule.kind for case in cases} == {kind}


@pytest.mark.parametrize("case", CASES)
def test_a_week_that_keeps_the_rule_has_no_breach(case: Case):
    assert amounts(case.rule, case.kept, case.cafe) == ([], [])


@pytest.mark.parametrize("case", CASES)
def test_a_week_that_breaks_the_rule_is_charged_the_amount_counted_by_hand(case: Case):
    assert amounts(case.rule, case.broken, case.cafe) == (case.amounts, case.amounts)


@pytest.mark.parametrize("case", CASES)
def test_the_rule_fits_its_cafe_and_says_so_in_one_sentence(case: Case):
    assert case.rule.faults(case.cafe) == []
    sentence = case.rule.describe(case.cafe)
    assert sentence[0].isupper() and sentence.endswith(".") and "_" not in sentence


@pytest.mark.parametrize("case", CASES)
def test_breaches_name_the_rule_and_say_what_is_wrong(case: Case):
    for breach in case.rule.check(case.broken, case.cafe):
        assert breach.rule == case.rule.title
        assert len(breach.text) > 15
        assert breach.item is None or breach.item in {*case.cafe.dishes, *case.cafe.ingredients}


@pytest.mark.parametrize("case", CASES)
def test_rules_survive_being_saved_and_read(case: Case):
    assert parse_rule(case.rule.model_dump()) == case.rule
    assert parse_rule(case.rule.model_dump(mode="json")) == case.rule


@pytest.mark.parametrize("case", CASES)
def test_rows_have_names_that_solvers_accept(case: Case):
    model = fake_rows(case.rule, case.broken, case.cafe)
    for row in [*model.rows, *model.definitions]:
        assert row.key and set(row.key) <= set("abcdefghijklmnopqrstuvwxyz0123456789_")


@pytest.mark.parametrize("rule", RULE_CLASSES)
def test_every_rule_says_what_it_is_and_what_its_parameters_are(rule: type[Rule]):
    assert rule.title and rule.unit
    assert inspect.getdoc(rule) != inspect.getdoc(Rule)
    assert "Kept:" in rule.__doc__ and "Broken by" in rule.__doc__
    assert any(sign in rule.__doc__ for sign in "≤≥")
    for name, parameter in rule.model_fields.items():
        assert name == "kind" or parameter.description, name


def test_an_unknown_kind_or_parameter_is_refused():
    with pytest.raises(ValidationError, match="spacing"):
        parse_rule({"kind": "spacign"})
    with pytest.raises(ValidationError, match="gap_hours"):
        parse_rule({"kind": "spacing", "gap_hours": 3})
    with pytest.raises(ValidationError):
        parse_rule({"kind": "spacing", "price_cents": 0})


@pytest.mark.parametrize(
    ("rule", "mend"),
    [
        (Spacing(course="salat"), "did you mean 'salad'?"),
        (WeeklyCap(course="salat"), "did you mean 'salad'?"),
        (HeroDaily(course="salat"), "did you mean 'salad'?"),
        (ColoursDaily(course="salat"), "did you mean 'salad'?"),
        (ColoursDaily(colours=9), "all dishes together show brown, green, orange, red, white"),
        (MainColourCap(course="salat"), "did you mean 'salad'?"),
        (PortionCostCap(course="salat", cap_cents=1), "did you mean 'salad'?"),
        (ProteinDishes(course="salat"), "did you mean 'salad'?"),
        (ProteinDishes(dishes=4), "there are 3 places"),
        (ProteinDishes(dishes=2, protein_g=14.5), "only 1 have as much"),
        (PlateProtein(), "give worst_g, average_g or both"),
        (UseUp(item="lentils"), "did you mean 'lentil'?"),
        (UseUp(item="*"), "needs use_by or within_days"),
        (Pin(dish="lentil_salat", day=MON), "did you mean 'lentil_salad'?"),
        (Pin(dish="stock_base", day=MON), "never in the cabinet"),
        (Pin(dish="soup", day="sun"), "closed on sun"),
        (Bar(dish="zzz"), "known: lentil_salad"),
        (Bar(dish="soup", day=SAT + timedelta(days=1)), "closed on 2026-01-11"),
        (NotTogether(a="soup", b="soup"), "name two dishes"),
        (NotTogether(a="soup", b="soap"), "did you mean 'soup'?"),
    ],
    ids=lambda value: value.kind if isinstance(value, Rule) else None,
)
def test_what_does_not_fit_the_cafe_is_named_with_its_mend(rule: Rule, mend: str):
    (fault,) = rule.faults(CAFE)
    assert mend in fault


def test_a_plate_larger_than_its_course_is_a_fault():
    cafe = tiny_cafe(plate={"salad": 3, "dessert": 1})
    faults = PlateProtein(worst_g=5).faults(cafe)
    assert "has 2 places" in faults[0] and "no course 'dessert'" in faults[1]
    assert "no [plate]" in PlateProtein(worst_g=5).faults(tiny_cafe(plate={}))[0]


def history(day, cooked=10, sold=8):
    return tiny_cafe(history=(Served(day=day, dish="lentil_salad", cooked=cooked, sold=sold),))


@pytest.mark.parametrize("one_cook", [False, True])
def test_a_dish_shown_just_before_the_week_must_rest_first(one_cook):
    rule = Spacing(gap_days=4, one_cook_counts_once=one_cook)
    friday = history(MON - timedelta(days=3))
    assert amounts(rule, plan(LENTILS_MON), friday) == ([1], [1])
    assert amounts(rule, plan(LENTILS_TUE), friday) == ([], [])


def test_history_counts_only_when_asked_and_when_the_dish_was_there():
    friday = MON - timedelta(days=3)
    rule = Spacing(gap_days=4)
    assert amounts(rule, plan(LENTILS_MON), history(friday, cooked=0, sold=0)) == ([], [])
    assert amounts(rule, plan(LENTILS_MON), history(friday, cooked=0, sold=5)) == ([1], [1])
    forgetful = Spacing(gap_days=4, from_history=False)
    assert amounts(forgetful, plan(LENTILS_MON), history(friday)) == ([], [])


def test_one_cook_over_two_days_is_two_showings_unless_it_counts_once():
    two_days = plan(("lentil_salad", MON, (MON, TUE)))
    assert amounts(Spacing(), two_days, CAFE) == ([1], [1])
    assert amounts(Spacing(one_cook_counts_once=True), two_days, CAFE) == ([], [])


def test_the_weekly_cap_counts_each_week_of_a_long_plan_by_itself():
    next_week = [day + timedelta(days=7) for day in (MON, WED)]
    cooks = [("lentil_salad", day, (day,)) for day in (MON, WED, *next_week)]
    assert amounts(WeeklyCap(), plan(*cooks, days=14), CAFE) == ([], [])
    third = ("lentil_salad", next_week[1] + timedelta(days=2), (next_week[1] + timedelta(days=2),))
    assert amounts(WeeklyCap(), plan(*cooks, third, days=14), CAFE) == ([1], [1])


def test_a_plate_rule_that_every_plate_of_the_book_keeps_adds_no_rows():
    model = fake_rows(PlateProtein(worst_g=3), plan(*on_days("beet_salad")), CAFE)
    assert model.rows == [] and model.definitions == []


def test_a_weekday_pin_holds_in_every_week_of_a_plan():
    assert amounts(Pin(dish="soup", day="tue"), plan(days=14), CAFE) == ([1, 1], [1, 1])


def test_a_pin_outside_the_week_waits():
    late = Pin(dish="soup", day=MON + timedelta(days=14))
    assert amounts(late, plan(), CAFE) == ([], [])


def test_a_station_without_a_limit_has_no_rows_and_says_so():
    rule = StationMinutes(station="hob")
    assert amounts(rule, plan(*on_days("soup")), CAFE) == ([], [])
    assert "no limit" in rule.describe(CAFE)


def test_stations_limited_by_the_kitchen_hold_without_a_rule():
    kitchen = limited(oven_min=120, hob_min=60)
    hob = StationMinutes(station="hob", price_cents=5)
    rules = default_rules(tiny_cafe(kitchen=kitchen), [Spacing(), hob])
    assert rules == (Spacing(), hob, StationMinutes(station="oven"))
    assert default_rules(CAFE, []) == ()
