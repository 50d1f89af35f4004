"""Other good weeks, against every menu of small cafes: none leaves the money asked for, and
where it is said that none is further apart, none is."""

from __future__ import annotations

import random
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import pytest

from optimiser import good_weeks as asked
from optimiser.good_weeks import GoodWeek, good_weeks
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.verify import verify
from optimiser.week import Week
from tests.generated_cafes import FEATURES, weeks
from tests.near_cafes import CENTS, Whole, all_menus, each, random_plan
from tests.rule_cases import PARAMETERS
from tests.ruled_cafes import ruled_weeks

MOST_MENUS = 300
WITHIN_CENTS = (0.0, 400.0, 1e6)
COUNT = 3

ROUNDED_CENTS = 5
"""Between the margin as the model counts it and the books, whose every line is in whole cents."""

Places = frozenset[tuple[date, str]]


@dataclass
class Menus:
    """Every menu of a cafe that can be cooked: its places and the most it earns."""

    week: Week
    plan: Plan
    kept_cents: float
    worths: list[tuple[Places, float]]

    def most(self, before: Sequence[Places], within_cents: float) -> int:
        """How many places a week within the money can have that none of those before has."""
        least = self.kept_cents - within_cents - CENTS
        return max(
            min(len(places - one) for one in before)
            for places, worth in self.worths
            if worth >= least
        )

    def worth(self, wanted: Places) -> float:
        """Cents of the best menu on these places; however many cooks that takes."""
        return max(worth for places, worth in self.worths if places == wanted)


def menus_of(week: Week, seed: int = 5) -> Menus | None:
    """None if no plan is found, it cannot be kept, or there are too many menus to try."""
    plan = random_plan(week, random.Random(seed))
    if plan is None:
        return None
    near = Nearby(week, plan)
    every = all_menus(week, near.model)
    if near.kept is None or len(every) > MOST_MENUS:
        return None
    whole, column = Whole(near.lp), near.model.run_column
    worths = []
    for menu in every:
        found = whole.best({j: float(run in menu) for run, j in column.items()})
        if found is not None:
            runs = [near.model.runs[number] for number in menu]
            worths.append((frozenset((d, r.dish) for r in runs for d in r.shown), found[0]))
    return Menus(week, plan, near.kept.margin_cents, worths)


def places_of(plan: Plan) -> Places:
    return frozenset((row.date, row.dish) for row in plan.shown)


def keep_their_word(menus: Menus, found: Sequence[GoodWeek], within_cents: float) -> None:
    """What holds of good weeks however they were found."""
    places = [places_of(menus.plan), *(places_of(one.plan) for one in found)]
    assert len(set(places)) == len(places)
    for number, one in enumerate(found, 1):
        assert one.plan.verified and verify(one.plan, menus.week).passed
        assert one.short_cents <= within_cents + CENTS
        margin = menus.kept_cents - one.short_cents
        assert one.plan.objective_cents == pytest.approx(margin, abs=ROUNDED_CENTS)
        assert margin <= menus.worth(places[number]) + CENTS
        others = places[:number] + places[number + 1 :]
        assert one.different == min(len(places[number] - other) for other in others) > 0
        apart = min(len(places[number] - other) for other in places[:number])
        most = menus.most(places[:number], within_cents)
        assert apart == most if one.proven else apart <= most


def all_apart(week: Week) -> int:
    """How many weeks were found on one cafe within any of the moneys."""
    menus, number = menus_of(week), 0
    if menus is None:
        return 0
    for within_cents in WITHIN_CENTS:
        found = good_weeks(week, menus.plan, within_cents, COUNT, 600.0)
        keep_their_word(menus, found, within_cents)
        assert all(one.proven for one in found)
        if len(found) < COUNT:
            before = [places_of(menus.plan), *(places_of(one.plan) for one in found)]
            assert menus.most(before, within_cents) == 0
        number += len(found)
    return number


@pytest.mark.parametrize("feature", FEATURES)
def test_good_weeks_are_as_far_apart_as_any(feature: str) -> None:
    assert sum(each(weeks(feature), 3, all_apart)) > 0


def test_good_weeks_under_rules_are_as_far_apart_as_any() -> None:
    found = [sum(each(ruled_weeks(kind), 1, all_apart)) for kind in sorted(PARAMETERS)]
    assert sum(count > 0 for count in found) > len(found) / 2


def test_what_neighbourhoods_find_keeps_its_word(monkeypatch: pytest.MonkeyPatch) -> None:
    """No time for the whole model: nothing is proven that is not, and money and places hold."""
    monkeypatch.setattr(asked, "WHOLE_SHARE", 0.0)

    def check(week: Week) -> int:
        menus = menus_of(week)
        if menus is None:
            return 0
        found = good_weeks(week, menus.plan, 1e6, 2, 2.0)
        keep_their_word(menus, found, 1e6)
        return len(found)

    assert sum(each(weeks("whole"), 3, check)) > 0


def test_more_money_never_brings_weeks_nearer() -> None:
    def check(week: Week) -> bool:
        menus = menus_of(week)
        if menus is None:
            return False
        furthest = [
            max((one.different for one in good_weeks(week, menus.plan, cents, 1, 600.0)), default=0)
            for cents in WITHIN_CENTS
        ]
        assert furthest == sorted(furthest)
        return furthest[0] < furthest[-1]

    assert any(each(weeks("two_packs"), 5, check))


def test_a_search_that_is_stopped_hands_out_nothing_more() -> None:
    def check(week: Week) -> bool:
        menus = menus_of(week)
        if menus is None:
            return False
        stop = threading.Event()
        stop.set()
        assert good_weeks(week, menus.plan, 1e6, stop=stop) == []
        stop.clear()
        one = good_weeks(
            week, menus.plan, 1e6, seconds=600.0, report=lambda _: stop.set(), stop=stop
        )
        assert len(one) <= 1
        keep_their_word(menus, one, 1e6)
        return True

    assert any(each(weeks("whole"), 2, check))
