"""How many portions guests will take: a distribution, its quantile, expected sales.

A demand is its quantile function, written as straight pieces over probability.
Days shown from one cook are added quantile by quantile (a busy week is busy
every day; common practice, no source): cautious about running out and binning.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from optimiser.cafe import Cafe, Cover, Dish


@dataclass(frozen=True)
class Piece:
    """Demand rises from `low` to `high` portions as probability goes `start` to `end`."""

    start: float
    end: float
    low: float
    high: float

    def at(self, probability: float) -> float:
        """Portions at a probability within the piece."""
        share = (probability - self.start) / (self.end - self.start)
        return self.low + share * (self.high - self.low)

    def expected_sold(self, portions: float) -> float:
        """This piece's part of E[min(demand, portions)]."""
        width = self.end - self.start
        if portions >= self.high:
            return width * (self.low + self.high) / 2
        if portions <= self.low:
            return width * portions
        below = (portions - self.low) / (self.high - self.low)
        return width * (below * (self.low + portions) / 2 + (1 - below) * portions)


Demand = tuple[Piece, ...]


def of_cover(cover: Cover, portions_per_guest: float) -> Demand:
    """Demand of a day from its guests."""
    f = portions_per_guest
    if not cover.chances:
        low, middle, high = cover.low * f, cover.expected * f, cover.high * f
        return (Piece(0.0, 0.5, low, middle), Piece(0.5, 1.0, middle, high))
    pieces, start = [], 0.0
    for guests, chance in sorted(cover.chances):
        if chance > 0:
            pieces.append(Piece(start, start + chance, guests * f, guests * f))
            start += chance
    return tuple(pieces)


def together(demands: Iterable[Demand]) -> Demand:
    """The sum of demands that rise and fall together."""
    several = list(demands)
    if len(several) == 1:
        return several[0]
    cuts = sorted({edge for demand in several for p in demand for edge in (p.start, p.end)})
    pieces = []
    for start, end in zip(cuts, cuts[1:], strict=False):
        if end - start < 1e-12:
            continue
        parts = [next(p for p in d if p.end > (start + end) / 2) for d in several]
        pieces.append(
            Piece(start, end, sum(p.at(start) for p in parts), sum(p.at(end) for p in parts))
        )
    return tuple(pieces)


def quantile(demand: Demand, probability: float) -> float:
    """The fewest portions that suffice with this probability."""
    for piece in demand:
        if probability <= piece.end + 1e-12:
            return piece.at(max(probability, piece.start))
    return demand[-1].high


def expected_sold(demand: Demand, portions: float) -> float:
    """E[min(demand, portions)]."""
    return sum(piece.expected_sold(portions) for piece in demand)


def portions_per_guest(cafe: Cafe, dish: Dish) -> float:
    """Average portions of a dish one guest takes on a day it is shown."""
    course = cafe.courses[dish.course]
    return course.take_up / course.slots * dish.appeal if course.slots else 0.0


def of_dish(cafe: Cafe, dish: Dish, days: Iterable[date]) -> Demand:
    """Demand for one cook of a dish, sold on these days."""
    f = portions_per_guest(cafe, dish)
    return together(of_cover(cafe.cover_on(day), f) for day in days)


def shares(cafe: Cafe, dish: Dish, days: Sequence[date], portions: int) -> list[int]:
    """Portions of one cook for each of its days, in proportion to the guests expected."""
    wanted = [expected_sold(of_dish(cafe, dish, [day]), math.inf) for day in days]
    if not sum(wanted):
        wanted = [1.0] * len(wanted)
    upto = [round(portions * sum(wanted[:n]) / sum(wanted)) for n in range(len(days) + 1)]
    return [end - start for start, end in pairwise(upto)]
