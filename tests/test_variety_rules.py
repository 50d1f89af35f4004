"""Corners of the rules about variety: edges of the history, long plans, blank words."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from optimiser.cafe import Cafe, Course, Cover, Served
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.plan import Plan
from optimiser.rules import Rule
from optimiser.rules.mixes import CuisineCap, CuisinesDaily, MethodCap, TextureDaily
from optimiser.rules.novelty import NewDishesCap, UnseenShare, WeeksSince
from optimiser.rules.pairs import Together
from optimiser.rules.variety import HeroWeekly
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests import board_weeks
from tests.rule_cases.base import CAFE, on_days, plan
from tests.rule_cases.novelty import served
from tests.rule_weeks import BOOK, FRI, MON, STYLE, TUE, WED, amounts, fake_rows, tiny_cafe

NEXT_MON, NEXT_TUE, NEXT_FRI = (day + timedelta(days=7) for day in (MON, TUE, FRI))
LONG = {"days": 14}


def row(day: date, dish: str = "lentil_salad", cooked: float = 10, sold: float = 8) -> Cafe:
    """The tiny cafe with one row of history."""
    return tiny_cafe(history=(Served(day=day, dish=dish, cooked=cooked, sold=sold),))


def breach_of(rule: Rule, week: Plan, cafe: Cafe = CAFE) -> float:
    """Units broken, on which rows and check have to agree."""
    by_rows, by_check = amounts(rule, week, cafe)
    assert by_rows == by_check
    return sum(by_check)


LENTILS = plan(("lentil_salad", MON, (MON,)))


# -- the edges of the history ---------------------------------------------


@pytest.mark.parametrize("weeks", [1, 2, 26])
def test_a_dish_comes_back_on_the_day_after_its_weeks_and_not_before(weeks: int) -> None:
    rule = WeeksSince(weeks=weeks)
    assert breach_of(rule, LENTILS, row(MON - timedelta(weeks=weeks))) == 1
    assert breach_of(rule, LENTILS, row(MON - timedelta(weeks=weeks, days=1))) == 0


def test_the_last_of_several_showings_counts_however_the_history_is_sorted() -> None:
    days = [MON - timedelta(days=n) for n in (40, 7, 12)]
    past = tuple(Served(day=day, dish="lentil_salad", cooked=1, sold=1) for day in days)
    assert breach_of(WeeksSince(weeks=1), LENTILS, tiny_cafe(history=past)) == 1
    assert breach_of(UnseenShare(share_pct=1, weeks=1), LENTILS, tiny_cafe(history=past)) == 1


@pytest.mark.parametrize("day", [MON, TUE, NEXT_MON])
def test_history_from_the_first_day_of_the_plan_on_does_not_count(day: date) -> None:
    later = plan(("lentil_salad", WED, (WED,)), ("lentil_salad", NEXT_TUE, (NEXT_TUE,)), **LONG)
    assert breach_of(WeeksSince(weeks=2), later, row(day)) == 0
    assert breach_of(NewDishesCap(dishes=0), later, row(day)) == 1
    assert breach_of(UnseenShare(share_pct=1), later, row(day)) == 0


@pytest.mark.parametrize(("cooked", "sold", "there"), [(0, 0, 0), (0, 3, 1), (3, 0, 1)])
def test_a_row_without_portions_is_no_showing(cooked: float, sold: float, there: int) -> None:
    cafe = row(MON - timedelta(days=3), cooked=cooked, sold=sold)
    assert breach_of(WeeksSince(weeks=1), LENTILS, cafe) == there
    assert breach_of(NewDishesCap(dishes=0), LENTILS, cafe) == 1 - there
    assert breach_of(UnseenShare(share_pct=1), LENTILS, cafe) == there


@pytest.mark.parametrize(("days_ago", "short"), [(14, 1), (15, 0)])
def test_the_share_looks_back_whole_weeks_from_the_first_day(days_ago: int, short: int) -> None:
    # 18 showings, 5 % are 0.9: one is asked for
    cafe = served(lentil_salad=days_ago)
    assert breach_of(UnseenShare(weeks=2, share_pct=5), LENTILS, cafe) == short


def test_the_share_is_of_all_places_and_not_rounded_up_by_a_hair() -> None:
    # 20 places a day, 6 days: 120; 55 % are 66, though 0.55 * 120 is a little more in floats
    cafe = tiny_cafe(courses={"salad": Course(slots=20, price_cents=600, take_up=1, portion_g=1)})
    assert sum(fake.bound for fake in fake_rows(UnseenShare(share_pct=55), plan(), cafe).rows) == 66


def test_weeks_since_writes_rows_for_the_days_that_are_too_soon_only() -> None:
    rows = fake_rows(WeeksSince(weeks=1), LENTILS, served(lentil_salad=5, kale_salad=8)).rows
    assert [one.key for one in rows] == [f"lentil_salad__2026010{n}" for n in (5, 6, 7)]


# -- plans of several weeks -----------------------------------------------


def test_a_dish_tried_in_the_first_week_is_not_new_in_the_second() -> None:
    first = on_days("kale_slaw", "beet_salad", days=(MON, TUE))
    again = on_days("kale_slaw", "beet_salad", days=(NEXT_MON,))
    more = on_days("quinoa_salad", "soup", "tofu_bake", days=(NEXT_TUE,))
    cafe = served(lentil_salad=3)
    assert breach_of(NewDishesCap(dishes=2), plan(*first, *again, **LONG), cafe) == 0
    assert breach_of(NewDishesCap(dishes=2), plan(*first, *more, **LONG), cafe) == 1


def test_a_week_without_new_dishes_saves_none_for_the_next() -> None:
    three = plan(*on_days("kale_slaw", "beet_salad", "soup", days=(NEXT_MON,)), **LONG)
    assert breach_of(NewDishesCap(dishes=2), three, served(lentil_salad=3)) == 1
    (found,) = NewDishesCap(dishes=2).check(three, served(lentil_salad=3))
    assert found.day == NEXT_MON


def test_main_ingredients_are_counted_week_by_week() -> None:
    kale = on_days("kale_salad", "kale_slaw", days=(MON, NEXT_MON))
    assert breach_of(HeroWeekly(showings=2), plan(*kale, **LONG)) == 0
    more = plan(*kale, *on_days("kale_bowl", days=(NEXT_FRI,)), **LONG)
    assert breach_of(HeroWeekly(showings=2), more) == 1
    (phrase,) = HeroWeekly(showings=2).concede(more, CAFE, HeroWeekly(showings=2).check(more, CAFE))
    assert phrase == (
        "let Kale carry 3 showings a week instead of 2 from Mon 2026-01-12", None
    )  # fmt: skip


def test_each_week_needs_its_own_share_of_dishes_not_seen() -> None:
    rule = UnseenShare(share_pct=10, weeks=1)  # 1.8 of 18: two a week
    cafe = served(lentil_salad=3)
    both = on_days("kale_salad", days=(MON, TUE, NEXT_MON, NEXT_TUE))
    assert breach_of(rule, plan(*both, **LONG), cafe) == 0
    assert breach_of(rule, plan(*on_days("kale_salad"), **LONG), cafe) == 2


def test_a_last_week_of_few_days_needs_a_share_of_those() -> None:
    # 8 days: the second week is one Monday of 3 places, half of them are 2
    week = plan(*on_days("kale_salad", "soup"), days=8)
    assert breach_of(UnseenShare(share_pct=50), week, served(lentil_salad=3)) == 2


def test_what_was_shown_before_a_long_plan_still_rests_in_its_second_week() -> None:
    week = plan(*on_days("lentil_salad", days=(NEXT_MON, NEXT_TUE)), **LONG)
    # shown 8 days before the plan, so on a Sunday: three weeks end on the second Sunday
    assert breach_of(WeeksSince(weeks=3), week, served(lentil_salad=8)) == 2
    assert breach_of(WeeksSince(weeks=2), week, served(lentil_salad=7)) == 1


@pytest.mark.parametrize("days", [14, 28])
def test_long_plans_are_solved_under_all_the_rules_at_once(days: int) -> None:
    base = board_weeks.cafe()
    cafe = base.model_copy(
        update={
            "covers": {day: Cover(expected=8, low=8, high=8) for day in range(7)},
            "stock": (),
            "kitchen": type(base.kitchen)(),
        }
    )
    rules: tuple[Rule, ...] = (
        WeeksSince(weeks=1),
        UnseenShare(share_pct=50),
        NewDishesCap(dishes=3),
        HeroWeekly(showings=7),
        CuisineCap(dishes=1),
        CuisinesDaily(cuisines=2),
        MethodCap(dishes=1, method="roasted"),
        TextureDaily(texture="soft"),
        Together(dish="squash_salad", needs="stew"),
    )
    week = Week(cafe, rules, board_weeks.MON, date(2026, 1, 2), days)
    model = Model(week)
    solved = Solver(model.lp).solve(Limits(seconds=60.0, gap_cents=1e6))
    assert solved.values is not None
    found = finished(model, solved.values, solved.bound)
    assert {shown.date for shown in found.shown} == set(week.open_dates)
    assert verify(found, week).breaches == ()


# -- blank and differently spelt words ------------------------------------


def restyled(**styles: tuple[str, str, str]) -> Cafe:
    """The tiny cafe with other cuisines, methods and textures."""
    names = ("cuisine", "method", "texture")
    dishes = {
        row[0]: CAFE.dishes[row[0]].model_copy(
            update=dict(zip(names, styles.get(row[0], STYLE[row[0]][:3]), strict=True))
        )
        for row in BOOK
    }
    return tiny_cafe(dishes=dishes)


def test_dishes_of_unknown_cuisine_are_neither_alike_nor_different() -> None:
    cafe = restyled(kale_salad=("", "", ""), kale_slaw=("", "", ""), soup=("", "", ""))
    blank = plan(*on_days("kale_salad", "kale_slaw", "soup", days=(MON,)))
    assert breach_of(CuisineCap(dishes=1), blank, cafe) == 0
    assert breach_of(MethodCap(dishes=1), blank, cafe) == 0
    on_monday = CuisinesDaily(cuisines=1).check(blank, cafe)[0]
    assert on_monday.day == MON and "no cuisine" in on_monday.text
    assert breach_of(CuisinesDaily(cuisines=1), blank, cafe) == 6
    for rule in (CuisineCap(), MethodCap(), MethodCap(method="boiled"), CuisinesDaily()):
        assert "blank" in rule.describe(cafe)


def test_words_that_differ_in_a_hyphen_are_the_same_word() -> None:
    one, other = ("south-east asian", "stir-fried", "al dente"), ("south_east asian", "stir fried",
                                                                  "al-dente")  # fmt: skip
    cafe = restyled(kale_salad=one, kale_slaw=other)
    both = plan(*on_days("kale_salad", "kale_slaw", days=(MON,)))
    assert breach_of(CuisineCap(dishes=1), both, cafe) == 1
    assert breach_of(MethodCap(dishes=1, method="Stir_fried"), both, cafe) == 1
    assert breach_of(TextureDaily(texture="al_dente", dishes=2), both, cafe) == 10
    assert "_" not in MethodCap(method="stir_fried").describe(cafe)


def test_a_part_cooked_by_a_method_does_not_give_it_to_the_dish() -> None:
    # the soup is boiled; the grain bake holds boiled quinoa and is roasted itself
    week = plan(*on_days("grain_bake", "lentil_salad", days=(MON,)))
    assert breach_of(MethodCap(dishes=1, method="boiled"), week) == 0


# -- faults that a cafe can mend ------------------------------------------


def test_a_cap_too_low_for_a_single_day_says_how_much_is_enough() -> None:
    same = restyled(**{row[0]: ("coast", "roasted", "soft") for row in BOOK})
    (fault,) = CuisineCap(dishes=2).faults(same)
    assert fault.endswith("allow 3")
    assert CuisineCap(dishes=3).faults(same) == []
    assert MethodCap(dishes=1, method="roasted", course="salad").faults(same) != []
    assert MethodCap(dishes=1, method="roasted", course="main").faults(same) == []


def test_too_few_known_dishes_say_how_many_new_ones_are_needed() -> None:
    # two salads and a main a day; one salad is known, so a salad and a main must be new
    cafe = served(lentil_salad=3)
    (fault,) = NewDishesCap(dishes=1).faults(cafe)
    assert fault.endswith("allow 2 new ones")
    assert NewDishesCap(dishes=2).faults(cafe) == []
    assert NewDishesCap(dishes=0, course="main").faults(cafe) != []


def test_cuisines_nobody_entered_are_asked_for_by_their_column() -> None:
    cafe = restyled(**{row[0]: ("", "roasted", "soft") for row in BOOK})
    (fault,) = CuisinesDaily(cuisines=2).faults(cafe)
    assert fault.endswith("have no cuisine; fill in the column cuisine")


# -- how rules give -------------------------------------------------------


def test_the_share_given_up_is_one_the_week_keeps() -> None:
    cafe, rule = served(lentil_salad=3), UnseenShare(share_pct=50)
    week = plan(*on_days("kale_salad", days=(MON, TUE, WED)))
    ((text, day),) = rule.concede(week, cafe, rule.check(week, cafe))
    assert (text, day) == ("16 % of showings of dishes not seen lately instead of 50 %", None)
    assert breach_of(UnseenShare(share_pct=16), week, cafe) == 0
    assert breach_of(UnseenShare(share_pct=17), week, cafe) == 1


def test_a_dish_that_comes_back_early_says_after_how_many_days() -> None:
    cafe, rule = served(lentil_salad=3), WeeksSince(weeks=2)
    assert rule.concede(LENTILS, cafe, rule.check(LENTILS, cafe)) == [
        ("let Lentil salad come back after 3 days instead of more than 14", MON)
    ]


def test_a_method_that_is_named_gives_by_its_name() -> None:
    rule = MethodCap(dishes=1, method="roasted")
    week = plan(*on_days("beet_salad", "tofu_bake", days=(MON,)))
    assert rule.concede(week, CAFE, rule.check(week, CAFE)) == [
        ("2 dishes of method roasted instead of 1", MON)
    ]
