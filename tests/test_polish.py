"""Weeks made better by hand: each can be, each is better, and at the end no exchange is."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from optimiser.finish import finished
from optimiser.model import Model
from optimiser.nearby import Nearby
from optimiser.polish import LEAST_GAIN_CENTS, polished
from optimiser.solver import Values
from optimiser.verify import verify
from optimiser.week import Week
from tests.generated_cafes import FEATURES, weeks
from tests.near_cafes import CENTS, each, random_week


def begun(week: Week) -> tuple[Model, Values | None]:
    """A week by the dice to begin with."""
    model = Model(week)
    return model, random_week(model, random.Random(0))


@pytest.mark.parametrize("feature", FEATURES)
def test_each_week_is_better_and_passes_and_no_exchange_is_left(feature: str) -> None:
    def check(week: Week) -> int:
        model, values = begun(week)
        if values is None:
            return 0
        better = list(polished(model, values, lambda: False))
        margins = [model.lp.value(one) for one in (values, *better)]
        assert all(b > a + LEAST_GAIN_CENTS - CENTS for a, b in pairwise(margins))
        for one in better:
            assert model.lp.worst_breach(one) < 1e-5
            assert verify(finished(model, one), week).passed
        near = Nearby(week, finished(model, better[-1] if better else values))
        if near.kept is not None:
            best = near.best_change()
            most = near.kept.margin_cents if best is None else best.margin_cents
            assert most <= margins[-1] + LEAST_GAIN_CENTS + CENTS
        return len(better)

    assert sum(each(weeks(feature), 4, check)) > 0


def test_stopped_it_tells_no_more_than_the_packs_afresh() -> None:
    def check(week: Week) -> int:
        model, values = begun(week)
        if values is None:
            return 0
        stopped = list(polished(model, values, lambda: True))
        assert len(stopped) <= 1
        return len(list(polished(model, values, lambda: False))) - len(stopped)

    assert sum(each(weeks("whole"), 6, check)) > 0
