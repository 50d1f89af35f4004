"""Lots that serve needs, by max-flow and min-cut over all sets of needs.

What matters of lots of one item is how many grams each gives. Lots can give to
needs at most
    min over sets S of needs:  sum of needs outside S + sum of lots that reach S.
A gram kept in a lot is worth the same whichever need it does not serve, and the
amounts that lots can give form a polymatroid, so taking from the lot of least
worth first, as much as it can give, is best (the greedy theorem of Edmonds).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from itertools import product

Need = tuple[date, date]
Needs = tuple[tuple[Need, float], ...]
"""((day of use, day until which it must be good), grams), ..."""


@dataclass(frozen=True)
class Gives:
    """A lot that can be used from `first` to `last`; a gram kept is worth `worth` cents.

    Of whole pieces at least `touched` must be cut, or a pack was bought for nothing.
    """

    first: date
    last: date
    grams: float
    worth: float
    touched: int = 0


def kept_cents(lots: list[Gives], needs: Needs) -> float | None:
    """Most that lots are worth after serving all needs; None if they cannot."""
    subsets = range(1 << len(needs))
    cuts = [sum(grams for n, (_, grams) in enumerate(needs) if not s >> n & 1) for s in subsets]
    worth, served = 0.0, 0.0
    for lot in sorted(lots, key=lambda one: one.worth):
        reach = sum(
            1 << n
            for n, ((used, until), _) in enumerate(needs)
            if lot.first <= used and until <= lot.last
        )
        cuts = [cut + (lot.grams if s & reach else 0.0) for s, cut in enumerate(cuts)]
        given = min(cuts) - served
        served += given
        worth += (lot.grams - given) * lot.worth
    return worth if served >= sum(grams for _, grams in needs) - 1e-6 else None


def ways_to_cut(lot: Gives, needs: Needs, size: float) -> list[tuple[tuple[date, int], ...]]:
    """Every way to cut pieces of a lot on the days of a cook in its life.

    More on a day than later cooks can use would only spoil.
    """
    days = sorted({used for (used, _), _ in needs if lot.first <= used <= lot.last})
    useful = [
        sum(g for (used, until), g in needs if day <= used and until <= lot.last) for day in days
    ]
    units = round(lot.grams / size)
    ways = product(*(range(min(units, math.ceil(grams / size)) + 1) for grams in useful))
    return [
        tuple((day, n) for day, n in zip(days, way, strict=True) if n)
        for way in ways
        if lot.touched <= sum(way) <= units
    ]
