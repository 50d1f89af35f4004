"""The order of dishes in a row of the cabinet: as few neighbours of one main colour as can be.

A row is the dishes of one course on one day, from the left. A dish without a colour
differs from every other, also from another without one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Shown

_Key = str | int
"""A colour, or the position of a dish that has none: a colour of its own."""


def display_order(colours: Sequence[str | None], before: str | None = None) -> list[int]:
    """Positions of the dishes in the order of their places, given their main colours.

    With m dishes of the most frequent colour among n, the order has max(0, 2m - n - 1)
    pairs of neighbours of one colour, and no order has fewer.
    *No fewer*: the n - m other dishes cut those m into at most n - m + 1 blocks; a block
    of b dishes has b - 1 pairs, so there are at least m - (n - m + 1).
    *No more*: each place takes the most frequent colour left that is not the last one,
    or the last one if no other is left. Let k dishes be left, m(c) of colour c, l the
    last colour, and P = max(0, 2 m(l) - k, 2 m(c) - k - 1 for each c other than l). A
    place given to c, the most frequent but l, keeps P: its third part becomes the new
    second, 2 (m(c) - 1) - (k - 1); its second becomes a new third, 2 m(l) - (k - 1) - 1;
    and any other d has 2 m(d) - (k - 1) - 1 ≤ 0, since m(d) ≤ m(c) and m(d) + m(c) ≤ k.
    Once only l is left, P = k = the pairs still to come. So the pairs are the first P,
    which has no l: max(0, 2m - n - 1).

    `before` is the last colour of the row that comes before. The row starts with
    another where that costs nothing: taken as the first l it changes P only if more
    than half of the dishes have it. Ties go to the colour met first.
    """
    waiting: dict[_Key, list[int]] = {}
    for position, colour in enumerate(colours):
        waiting.setdefault(position if colour is None else colour, []).append(position)
    last: _Key | None = before
    if before is not None and 2 * len(waiting.get(before, ())) > len(colours):
        last = None
    order = []
    while waiting:
        others = [key for key in waiting if key != last] or list(waiting)
        last = max(others, key=lambda key: len(waiting[key]))
        order.append(waiting[last].pop(0))
        if not waiting[last]:
            del waiting[last]
    return order


def placed(cafe: Cafe, shown: Iterable[Shown]) -> list[Shown]:
    """The rows with their places, sorted by date, course and place."""
    courses = {course: number for number, course in enumerate(cafe.courses)}
    rows = sorted(shown, key=lambda row: (row.date, courses[row.course], row.dish))
    found: list[Shown] = []
    for _, of_day in groupby(rows, key=lambda row: row.date):
        before: str | None = None
        for _, of_course in groupby(of_day, key=lambda row: row.course):
            dishes = list(of_course)
            colours = [nutrition.main_colour(cafe, row.dish) for row in dishes]
            order = display_order(colours, before)
            before = colours[order[-1]]
            found += [
                dishes[position].model_copy(update={"place": place})
                for place, position in enumerate(order, 1)
            ]
    return found


def in_order(cafe: Cafe, shown: Iterable[Shown]) -> list[Shown]:
    """Rows as they stand in the cabinet: by date, course, place; without places by dish."""
    courses = {course: number for number, course in enumerate(cafe.courses)}
    return sorted(shown, key=lambda row: (row.date, courses[row.course], row.place, row.dish))
