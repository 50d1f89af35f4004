"""Impossible weeks: conflicts without a rule too many, repairs that hold, honest words.

The oracle is a list of all menus of a tiny cafe, judged by the rules' own `check`.
"""

from __future__ import annotations

import itertools
import random
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from optimiser.cafe import Cafe, Cover, Kitchen
from optimiser.explain import Conflict, conflict
from optimiser.kept_repairs import rules_then
from optimiser.plan import Plan
from optimiser.progress import Progress
from optimiser.report_base import money_text
from optimiser.rules import RULE_CLASSES, Rule, parse_rule
from optimiser.rules.words import on
from optimiser.side_by_side import WORKERS
from optimiser.verify import verify
from optimiser.week import Week
from tests.rule_weeks import BOOK, MON, TUE, limited, tiny_cafe, week_plan

FRIDAY_BEFORE = MON - timedelta(days=3)
SALADS = [row[0] for row in BOOK if row[1] == "salad"]
EVERY_DAY = frozenset(range(7))
PIECES = {"pumpkin": 1, "tofu": 2}
"""Pieces in the kilo that the market sells."""


def cafe(kitchen: Kitchen | None = None, **changes: Any) -> Cafe:
    """The tiny cafe with the mains tofu and pumpkin; everything lives one day and can be had."""
    base = tiny_cafe()
    dishes = {
        dish.id: dish.model_copy(update={"hold_days": 1})
        for dish in base.dishes.values()
        if dish.course == "salad" or dish.id in ("tofu_bake", "pumpkin_bake")
    }
    market = base.suppliers["market"].model_copy(update={"delivers": EVERY_DAY})
    fields: dict[str, Any] = {
        "dishes": dishes,
        "suppliers": {"market": market},
        "offers": tuple(
            offer.model_copy(update={"pieces": PIECES.get(offer.ingredient, 0)})
            for offer in base.offers
        ),
        "covers": {day: Cover(expected=20, low=20, high=20) for day in range(7)},
        "kitchen": kitchen or Kitchen(),
    }
    return base.model_copy(update={**fields, **changes})


def week_of(cafe: Cafe, *settings: dict[str, Any], days: int = 2) -> Week:
    rules = tuple(parse_rule(one) for one in settings)
    return Week(cafe=cafe, rules=rules, start=MON, planned_on=FRIDAY_BEFORE, days=days)


def all_menus(week: Week) -> Iterator[Plan]:
    """Every way to fill the cabinet, each dish cooked on the day it is shown."""
    days = [
        [
            [*salads, main]
            for salads in itertools.combinations(SALADS, week.cafe.courses["salad"].slots)
            for main in ("tofu_bake", "pumpkin_bake")
        ]
    ] * len(week.open_dates)
    for menu in itertools.product(*days):
        cooks = [
            (dish, day, (day,))
            for day, dishes in zip(week.open_dates, menu, strict=True)
            for dish in dishes
        ]
        yield week_plan(week.cafe, cooks, days=week.days)


def amounts(week: Week) -> list[list[float]]:
    """For every menu, by how much each rule is broken."""
    return [
        [sum(b.amount for b in rule.check(plan, week.cafe)) for rule in week.rules]
        for plan in all_menus(week)
    ]


def possible(broken: list[list[float]], rules: set[int]) -> bool:
    return any(all(row[n] == 0 for n in rules) for row in broken)


def random_rules(dice: random.Random) -> list[dict[str, Any]]:
    """Rules of which many sets cannot hold on two days of two salads and a main."""
    pool: list[dict[str, Any]] = [
        {"kind": "spacing", "gap_days": 2},
        {"kind": "spacing", "gap_days": 2, "course": "salad"},
        {"kind": "weekly_cap", "days": 1},
        {"kind": "hero_daily", "dishes": 1},
        {"kind": "colours_daily", "colours": dice.choice([3, 4])},
        {"kind": "colours_daily", "course": "salad", "colours": 2},
        {"kind": "main_colour_cap", "dishes": 1},
        {"kind": "protein_dishes", "course": "main", "protein_g": 12, "dishes": 1},
        {"kind": "protein_dishes", "course": "salad", "protein_g": 9, "dishes": 2},
        {"kind": "plate_protein", "worst_g": dice.choice([5, 17, 20]), "average_g": None},
        {"kind": "station_minutes", "station": "hob"},
        {"kind": "station_minutes", "station": "oven"},
        {"kind": "pin", "dish": dice.choice(SALADS), "day": "mon"},
        {"kind": "pin", "dish": dice.choice(SALADS), "day": "tue"},
        {"kind": "pin", "dish": "pumpkin_bake", "day": dice.choice(["mon", "tue"])},
        {"kind": "bar", "dish": "tofu_bake"},
        {"kind": "bar", "dish": dice.choice(SALADS)},
        {"kind": "not_together", "a": "kale_salad", "b": "beet_salad"},
    ]
    return dice.sample(pool, dice.randint(4, 8))


def impossible_weeks(number: int) -> list[Week]:
    """Random weeks that no menu can satisfy, by trying all menus."""
    dice, found = random.Random(20260105), []
    while len(found) < number:
        kitchen = limited(hob_min=dice.choice([44, 45, 60]), oven_min=dice.choice([50, 60]))
        week = week_of(cafe(kitchen), *random_rules(dice))
        if not possible(amounts(week), set(range(len(week.rules)))):
            found.append(week)
    return found


WEEKS = impossible_weeks(12)


@pytest.fixture(scope="module", params=range(len(WEEKS)), ids=lambda n: f"week {n}")
def explained(request: pytest.FixtureRequest) -> tuple[Week, Conflict]:
    week = WEEKS[request.param]
    return week, conflict(week, 30.0)


def test_the_conflicting_rules_cannot_hold_but_can_without_any_one(
    explained: tuple[Week, Conflict],
) -> None:
    week, found = explained
    broken, numbers = amounts(week), {part.number for part in found.rules}
    assert found.holds is False and found.proven
    assert not possible(broken, numbers)
    for number in numbers:
        assert possible(broken, numbers - {number})


def test_the_first_repair_is_the_cheapest_of_all_menus(
    explained: tuple[Week, Conflict],
) -> None:
    week, found = explained
    pct = [100 * rule.share(week) for rule in week.rules]
    least = min(sum(a * p for a, p in zip(row, pct, strict=True)) for row in amounts(week))
    assert found.repairs[0].least
    assert found.repairs[0].given_up_pct == pytest.approx(least, abs=0.05)


def test_every_repair_leads_to_a_week_that_passes_when_its_rules_give(
    explained: tuple[Week, Conflict],
) -> None:
    week, found = explained
    assert found.repairs
    for repair in found.repairs:
        giving = {change.number for change in repair.changes}
        kept = tuple(rule for n, rule in enumerate(week.rules) if n not in giving)
        for number, rule in enumerate(week.rules):
            assert bool(rule.check(repair.plan, week.cafe)) == (number in giving)
        plan = repair.plan.model_copy(update={"rules": ()})
        others = verify(plan, replace(week, rules=kept)).breaches
        places = {"menu"} if None in giving else set()
        assert {breach.rule for breach in others} <= {"plan", "money"} | places


def test_there_are_three_different_repairs_where_three_ways_to_break_rules_exist(
    explained: tuple[Week, Conflict],
) -> None:
    week, found = explained
    supports = {frozenset(n for n, a in enumerate(row) if a) for row in amounts(week)}
    smallest = [s for s in supports if not any(t < s for t in supports)]
    assert len(found.repairs) >= min(3, len(smallest))
    sentences = [repair.sentence() for repair in found.repairs]
    assert len(set(sentences)) == len(sentences)


def test_sentences_name_every_conflicting_rule_by_title(
    explained: tuple[Week, Conflict],
) -> None:
    week, found = explained
    text = "\n".join(found.sentences())
    for part in found.rules:
        assert f"{week.rules[part.number].title}: " in text
        assert week.rules[part.number].describe(week.cafe) in text


def test_too_few_oven_minutes_on_one_day_are_asked_for_in_steps_of_five() -> None:
    # both mains take 60 oven minutes; Tuesday has 37
    kitchen = Kitchen(oven_min=(60.0, 37.0, 60.0, 60.0, 60.0, 60.0, 60.0))
    week = week_of(cafe(kitchen), {"kind": "station_minutes", "station": "oven"})
    found = conflict(week)
    assert [part.days for part in found.rules] == [(TUE,)]
    assert found.repairs[0].sentence() == (
        f"Minutes in the kitchen: 25 oven minutes more on {on(TUE)}"
    )
    assert f"({on(TUE)})" in "\n".join(found.sentences())


@pytest.mark.parametrize("tuesday_min", [35.0, 40.0, 52.0])
def test_the_minutes_asked_for_are_the_fewest_steps_of_five_that_are_enough(
    tuesday_min: float,
) -> None:
    def week(minutes: float) -> Week:
        kitchen = Kitchen(oven_min=(60.0, minutes, 60.0, 60.0, 60.0, 60.0, 60.0))
        return week_of(cafe(kitchen), {"kind": "station_minutes", "station": "oven"})

    enough = next(
        more for more in range(0, 100, 5) if conflict(week(tuesday_min + more)).holds is True
    )
    sentence = conflict(week(tuesday_min)).repairs[0].sentence()
    assert f"{enough} oven minutes more on {on(TUE)}" in sentence


def test_two_pins_and_a_rest_name_the_dish_and_the_day() -> None:
    week = week_of(
        cafe(),
        {"kind": "spacing", "gap_days": 2},
        {"kind": "pin", "dish": "beet_salad", "day": "mon"},
        {"kind": "pin", "dish": "beet_salad", "day": "tue"},
        {"kind": "weekly_cap", "days": 2},
        {"kind": "weekly_cap", "days": 1, "price_cents": 50},
    )
    found = conflict(week)
    # two mains must also alternate, which they can
    assert {part.number for part in found.rules} == {0, 1, 2}
    said = {repair.sentence() for repair in found.repairs}
    assert said == {
        "Days between showings: let Beet salad come back after 1 day instead of 2 "
        f"on {on(TUE)}",
        f"Dish pinned to a day: leave Beet salad out on {on(MON)}",
        f"Dish pinned to a day: leave Beet salad out on {on(TUE)}",
    }


def test_a_budget_speaks_the_currency_of_the_cafe() -> None:
    week = week_of(cafe(currency="NZD"), {"kind": "purchase_budget", "budget_cents": 500})
    found = conflict(week)
    assert [part.title for part in found.rules] == ["Budget for purchases"]
    assert "NZD 5.00" in found.rules[0].sentence
    assert "more for purchases (NZD " in found.repairs[0].sentence()


def test_five_colours_on_two_salads_and_a_main_become_three() -> None:
    week = week_of(cafe(), {"kind": "colours_daily", "colours": 5}, days=1)
    assert conflict(week).repairs[0].sentence() == (
        f"Colours a day: 3 colours instead of 5 on {on(MON)}"
    )


def test_too_few_dishes_are_reported_by_course_and_day_even_without_rules() -> None:
    base = cafe()
    only = {name: dish for name, dish in base.dishes.items() if name != "tofu_bake"}
    courses = dict(base.courses)
    courses["main"] = courses["main"].model_copy(update={"slots": 2})
    found = conflict(week_of(base.model_copy(update={"dishes": only, "courses": courses}), days=1))
    text = "\n".join(found.sentences())
    assert found.always and not found.rules and found.proven
    assert f"main on {on(MON)}: 2 places, but only 1 can be filled" in text
    assert "there are only 1 main dish" in text
    assert f"Places in the cabinet: 1 main dish instead of 2 on {on(MON)}" in text


def test_ingredients_that_nobody_delivers_in_time_are_named() -> None:
    base = cafe()
    late = base.suppliers["market"].model_copy(update={"delivers": frozenset({1})})
    found = conflict(week_of(base.model_copy(update={"suppliers": {"market": late}})))
    text = "\n".join(found.sentences())
    assert found.always
    assert f"main on {on(MON)}: 1 place, but only 0 can be filled" in text
    assert "Tofu bake lacks Tofu (none in stock, none delivered by then)" in text
    assert not any(str(TUE) in fact for fact in found.facts)


def test_a_week_that_can_hold_says_so() -> None:
    found = conflict(week_of(cafe(), {"kind": "colours_daily", "colours": 2}))
    assert found.holds is True and not found.repairs
    assert "a week exists" in found.sentences()[0]


def test_without_time_nothing_is_claimed() -> None:
    week = WEEKS[0]
    started = time.monotonic()
    found = conflict(week, seconds=0.0)
    assert time.monotonic() - started < 10.0
    assert found.holds is None and not found.proven and not found.rules
    assert "The search ended" in found.sentences()[0]


def test_a_search_that_is_stopped_tells_what_it_has_and_claims_no_more() -> None:
    stop = threading.Event()
    stop.set()
    early = conflict(WEEKS[0], 600.0, stop=stop)
    assert early.holds is None and not early.rules and not early.repairs
    stop.clear()
    heard: list[str] = []

    def hear(progress: Progress) -> None:
        heard.append(progress.doing)
        if "found" in progress.doing:
            stop.set()

    late = conflict(WEEKS[0], 600.0, hear, stop)
    assert heard[0] == "looking for rules that clash" and 1 <= len(late.repairs) <= WORKERS
    assert sum("found" in one for one in heard) <= WORKERS, "no week is begun once stopped"
    assert not late.repairs[0].least
    assert "the search ended early: perhaps less is" in "\n".join(late.sentences())


def test_what_a_repair_is_priced_at_is_what_its_week_makes(
    explained: tuple[Week, Conflict],
) -> None:
    """Verified with each rule loosened as the repair says; no price of a breach in it."""
    week, found = explained
    for repair in found.repairs:
        breaches = verify(repair.plan, rules_then(week, repair.plan)).breaches
        assert {breach.rule for breach in breaches} == ({"menu"} if None in repair.rules else set())
        assert money_text(repair.plan.objective_cents, "AUD") in "\n".join(found.sentences())


def test_rules_with_a_price_are_never_part_of_a_conflict() -> None:
    week = week_of(
        cafe(),
        {"kind": "bar", "dish": "tofu_bake", "price_cents": 100},
        {"kind": "bar", "dish": "pumpkin_bake"},
    )
    assert conflict(week).holds is True
    assert week.rules[0].price_cents == 100


def test_one_colour_of_five_is_a_fifth_of_its_rule() -> None:
    week = week_of(cafe(), {"kind": "colours_daily", "colours": 5})
    assert week.rules[0].share(week) == pytest.approx(0.2)


def test_every_kind_of_rule_has_words_for_giving() -> None:
    assert all(rule.concede is not Rule.concede for rule in RULE_CLASSES)


def test_of_a_plate_with_two_limits_only_the_one_that_matters_is_named() -> None:
    settings = {"kind": "plate_protein", "worst_g": 3, "average_g": 40}
    found = conflict(week_of(cafe(), settings, days=1))
    assert "on average" in found.rules[0].sentence
    assert "whatever a guest picks" not in found.rules[0].sentence
    assert f"on the average plate instead of 40 g on {on(MON)}" in found.repairs[0].sentence()
