"""Exchanges in the order of what they bring, worked out only as far as somebody asks.

The most promising one is looked at more closely, again and again: a rough bound, a close one,
then what it brings. What is known to bring less than those asked for is never worked out.
"""

from __future__ import annotations

import heapq
import math
import threading
from collections.abc import Callable, Iterable, Iterator
from enum import IntEnum

from optimiser.blocks import Changes, Columns
from optimiser.bounds import Bounds
from optimiser.exchanges import Exchange
from optimiser.near import Change, Watched

Moves = Callable[[Exchange], tuple[Changes, Columns]]
"""By how much an exchange moves settled columns, and those that may be chosen afresh."""


class Known(IntEnum):
    """What is known of an exchange; the better known of two that may bring as much goes first."""

    EXACTLY = 0
    CLOSELY = 1
    ROUGHLY = 2


class Ranked:
    """Those exchanges that are possible, best first, ties left out."""

    def __init__(self, bounds: Bounds, asked: Iterable[Exchange], moves: Moves) -> None:
        self._bounds, self._moves = bounds, moves
        self._found: list[Change] = []
        self._looks = 0
        self._asked = list(asked)
        self._queue = [
            (-bounds.rough(*moves(one)), Known.ROUGHLY, one.enters.index, place)
            for place, one in enumerate(self._asked)
        ]
        heapq.heapify(self._queue)

    def best_first(
        self, watch: Watched, stop: threading.Event | None = None
    ) -> Iterator[Change]:
        """All of them; it ends early if stopped: see `ended`."""
        place = 0
        while True:
            while place >= len(self._found):
                if not self._queue or (stop is not None and stop.is_set()):
                    return
                self._look(watch)
            yield self._found[place]
            place += 1

    @property
    def ended(self) -> bool:
        """Whether none is left to be found."""
        return not self._queue

    def _look(self, watch: Watched) -> None:
        """Look at the most promising one more closely."""
        minus, known, index, place = heapq.heappop(self._queue)
        exchange = self._asked[place]
        if known is Known.EXACTLY:
            self._found.append(Change(exchange, -minus))
            return
        self._looks += 1
        changes, loose = self._moves(exchange)
        if known is Known.ROUGHLY:
            most = self._bounds.close(changes, loose)
            closer = Known.CLOSELY
        else:
            next_best = -self._queue[0][0] if self._queue else -math.inf
            most = self._bounds.close(changes, loose, next_best)
            closer = Known.EXACTLY if most >= next_best else Known.CLOSELY
        exact = closer is Known.EXACTLY and most > -math.inf
        watch.saw(self._bounds.blocks.margin + most if exact else None, self._looks)
        if most > -math.inf:
            heapq.heappush(self._queue, (-most, closer, index, place))
