"""Which lot serves which cook: as much as any allocation can, first listed first."""

from __future__ import annotations

import math
from datetime import date, timedelta
from random import Random

import pytest

from optimiser.allocate import Demand, Supply, allocate

MON = date(2026, 1, 5)
DAYS = [MON + timedelta(days=n) for n in range(6)]
AFTER = DAYS[4]


def supply(lot: str, first: int, last: int, grams: float) -> Supply:
    """A lot good from day number `first` to `last`."""
    return Supply(lot, DAYS[first], DAYS[last], grams)


def wanted(day: int, grams: float, until: int | None = None) -> Demand:
    """A cook on day number `day`."""
    return Demand("dish", DAYS[day], DAYS[day if until is None else until], grams)


def can(lot: Supply, cook: Demand) -> bool:
    """There on the day of the cook, and good as long as it must."""
    return lot.first <= cook.day and cook.until <= lot.last


def most(supplies: list[Supply], demands: list[Demand]) -> float:
    """Grams that can be served at most, by max-flow and min-cut over all sets of cooks."""
    best = math.inf
    for chosen in range(1 << len(demands)):
        inside = [d for n, d in enumerate(demands) if chosen >> n & 1]
        outside = sum(d.grams for n, d in enumerate(demands) if not chosen >> n & 1)
        reach = sum(s.grams for s in supplies if any(can(s, d) for d in inside))
        best = min(best, outside + reach)
    return best


def random_case(seed: int) -> tuple[list[Supply], list[Demand]]:
    """Up to five lots and five cooks."""
    draw = Random(seed)
    supplies = []
    for n in range(draw.randint(1, 5)):
        first = draw.randrange(4)
        supplies.append(supply(f"lot{n}", first, draw.randint(first, 5), draw.randint(0, 8) * 50))
    demands = []
    for _ in range(draw.randint(1, 5)):
        day = draw.randrange(4)
        demands.append(wanted(day, draw.randint(1, 6) * 50, draw.randint(day, 4)))
    return supplies, demands


def given(flow: dict[tuple[int, int], float], lot: int) -> float:
    """What a lot gives in all."""
    return sum(grams for (s, _), grams in flow.items() if s == lot)


@pytest.mark.parametrize("seed", range(150))
def test_serves_as_much_as_possible_and_nothing_impossible(seed: int):
    supplies, demands = random_case(seed)
    flow = allocate(supplies, demands, AFTER)
    assert all(can(supplies[s], demands[d]) and grams > 0 for (s, d), grams in flow.items())
    for s, lot in enumerate(supplies):
        assert given(flow, s) <= lot.grams + 1e-6
    for d, cook in enumerate(demands):
        assert sum(g for (_, one), g in flow.items() if one == d) <= cook.grams + 1e-6
    assert sum(flow.values()) == pytest.approx(most(supplies, demands), abs=1e-3)


@pytest.mark.parametrize("seed", range(150))
def test_bins_as_little_as_possible(seed: int):
    """Kept for the day after, or used: together no allocation saves more."""
    supplies, demands = random_case(seed)
    flow = allocate(supplies, demands, AFTER)
    binned = sum(
        lot.grams - given(flow, s) for s, lot in enumerate(supplies) if lot.last < AFTER
    )
    # Serving comes first, so look for the least binned among complete allocations:
    # lots that spoil give what they can, the others what is still missing.
    spoiling = [lot for lot in supplies if lot.last < AFTER]
    least = sum(lot.grams for lot in spoiling) - most(spoiling, demands)
    assert binned == pytest.approx(least, abs=1e-3)


@pytest.mark.parametrize("seed", range(150))
def test_earlier_lots_give_all_they_can_where_nothing_is_worth_keeping(seed: int):
    supplies, demands = random_case(seed)
    nothing_kept = DAYS[0] - timedelta(days=30)
    flow = allocate(supplies, demands, nothing_kept)
    before = 0.0
    for s in range(len(supplies)):
        upto = most(supplies[: s + 1], demands)
        assert given(flow, s) == pytest.approx(upto - before, abs=1e-3)
        before = upto


def test_a_lot_about_to_spoil_takes_over_from_one_that_keeps():
    supplies = [supply("keeps", 0, 5, 100), supply("spoils", 0, 2, 100)]
    assert allocate(supplies, [wanted(1, 100)], AFTER) == {(1, 0): 100}


def test_of_two_lots_that_keep_the_first_listed_is_used():
    supplies = [supply("stock", 0, 5, 100), supply("bought", 0, 5, 100)]
    assert allocate(supplies, [wanted(1, 120)], AFTER) == {(0, 0): 100, (1, 0): 20}


def test_an_early_lot_is_left_to_the_cook_that_nothing_else_can_serve():
    supplies = [supply("monday", 0, 3, 100), supply("wednesday", 2, 3, 100)]
    flow = allocate(supplies, [wanted(2, 100), wanted(0, 100)], AFTER)
    assert flow == {(0, 1): 100, (1, 0): 100}


def test_a_lot_that_dies_while_the_dish_is_shown_is_not_used():
    assert allocate([supply("short", 0, 1, 100)], [wanted(0, 100, until=2)], AFTER) == {}


def test_what_is_due_is_used_even_if_another_lot_spoils():
    supplies = [
        Supply("asked", DAYS[0], DAYS[5], 100, due=True),
        supply("spoils", 0, 2, 100),
        supply("keeps", 0, 5, 100),
    ]
    flow = allocate(supplies, [wanted(1, 150)], AFTER)
    assert (given(flow, 0), given(flow, 1), given(flow, 2)) == (100, 50, 0)
