"""Bounds on exchanges, and their order, against every exchange worked out in full."""

from __future__ import annotations

import math
import random
import threading
from collections.abc import Callable
from itertools import islice

import pytest

from optimiser.bounds import Bounds
from optimiser.near import Watched
from optimiser.nearby import Nearby
from optimiser.progress import Progress
from optimiser.week import Week
from tests.generated_cafes import FEATURES, weeks
from tests.near_cafes import CENTS, each, random_plan
from tests.ruled_cafes import ruled_weeks

RULES = ("purchase_budget", "recipe_stretch", "use_up", "finish_opened")


def nearby(week: Week) -> Nearby | None:
    plan = random_plan(week, random.Random(0))
    near = None if plan is None else Nearby(week, plan)
    return near if near is not None and near.kept is not None else None


def agrees(week: Week) -> int:
    """How many exchanges are possible; each is bounded, and comes in its turn."""
    near = nearby(week)
    if near is None:
        return 0
    bounds, gains = Bounds(near.blocks), []
    for exchange in near.exchanges():
        moves = near.changes_of(exchange), near.loose_of(exchange)
        gain, close = near.gain(exchange), bounds.close(*moves)
        assert bounds.rough(*moves) >= close - CENTS
        exact = bounds.close(*moves, enough=-math.inf)
        if gain is None:
            assert exact == -math.inf
            continue
        assert close >= gain - CENTS
        assert exact == pytest.approx(gain, abs=CENTS)
        assert bounds.close(*moves, enough=gain + 1) >= gain - CENTS
        gains.append(gain)
    found = [change.gain_cents for change in near.changes()]
    assert found == sorted(found, reverse=True)
    assert found == pytest.approx(sorted(gains, reverse=True), abs=CENTS)
    return len(gains)


@pytest.mark.parametrize("feature", FEATURES)
def test_bounds_hold_and_the_order_is_that_of_all_worked_out(feature: str) -> None:
    assert sum(each(weeks(feature), 4, agrees)) > 0


@pytest.mark.parametrize("kind", RULES)
def test_they_do_where_rules_tie_food_together(kind: str) -> None:
    assert sum(each(ruled_weeks(kind), 4, agrees)) > 0


def test_what_was_worked_out_is_not_worked_out_again() -> None:
    def check(week: Week) -> int:
        near = nearby(week)
        if near is None:
            return 0
        first = list(islice(near.changes(), 2))
        assert list(islice(near.changes(), 2)) == first
        everything = list(near.changes())
        assert everything[:2] == first and list(near.changes()) == everything
        return len(everything)

    assert sum(each(weeks("two_packs"), 3, check)) > 0


def test_those_that_bring_less_than_the_best_are_not_worked_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    closely: list[float] = []
    plain: Callable[..., float] = Bounds.close

    def counted(self: Bounds, changes: object, loose: object, enough: float = math.inf) -> float:
        if enough < math.inf:
            closely.append(enough)
        return plain(self, changes, loose, enough)

    monkeypatch.setattr(Bounds, "close", counted)

    def check(week: Week) -> tuple[int, int]:
        near = nearby(week)
        if near is None:
            return 0, 0
        closely.clear()
        best = near.best_change()
        few = len(closely)
        found, again = near.all_changes()
        assert (best is None) == (again is None)
        if best is not None and again is not None:
            assert best.margin_cents == pytest.approx(again.margin_cents, abs=CENTS)
        return few, len(found)

    counts = each(weeks("whole"), 6, check)
    assert sum(few for few, _ in counts) < sum(every for _, every in counts)


class After(threading.Event):
    """Set once it has been asked so many times: a stop in the middle of a search."""

    def __init__(self, times: int) -> None:
        super().__init__()
        self._left = times

    def is_set(self) -> bool:
        self._left -= 1
        return self._left < 0


def test_a_best_that_was_stopped_on_the_way_is_called_exact_only_if_it_is() -> None:
    def check(week: Week) -> tuple[int, int]:
        whole = nearby(week)
        best = None if whole is None else whole.best_change()
        if whole is None or best is None:
            return 0, 0
        exact = open_ = 0
        for looks in range(1, 60):
            near = Nearby(week, whole.plan)
            stopped = near.best_change(stop=After(looks))
            if stopped is None:
                continue
            if stopped.exact:
                exact += 1
                assert stopped.margin_cents == pytest.approx(best.margin_cents, abs=CENTS)
            else:
                open_ += 1
                assert math.isinf(stopped.bound_cents)
        return exact, open_

    counts = [count for feature in ("whole", "minimum") for count in each(weeks(feature), 8, check)]
    assert sum(exact for exact, _ in counts) and sum(open_ for _, open_ in counts)


def test_each_look_is_told_and_no_better_menu_than_there_is() -> None:
    def check(week: Week) -> int:
        near = nearby(week)
        if near is None or near.kept is None:
            return 0
        heard: list[float] = []

        def hear(progress: Progress) -> None:
            watch._last = -math.inf  # every look, however soon
            assert progress.best_cents is not None and progress.bound_cents is None
            heard.append(progress.best_cents)

        watch = Watched(hear, near.kept.margin_cents)
        watch._last = -math.inf
        ranked = near._ranked(near.exchanges())
        gains = [change.gain_cents for change in ranked.best_first(watch)]
        assert ranked.ended
        most = max([near.blocks.margin + gain for gain in gains], default=-math.inf)
        assert all(told <= max(most, near.kept.margin_cents) + CENTS for told in heard)
        return len(heard)

    assert sum(each(weeks("whole"), 3, check)) > 0
