"""What a kept plan's neighbourhood knows, held in the server: built once, asked many times.

Two are held of each plan: a page asks the one, and waits for it; questions that take longer ask
the other in the background. Neither is ever asked by two at once.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Hashable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from optimiser.change_base import Change, apply_all
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.present import Present, same_days
from optimiser.week import Week

MOST_KEPT = 4
"""So many neighbourhoods are held at once; each takes some tens of megabytes."""

Changes = tuple[Change, ...]


@dataclass(frozen=True)
class Spot:
    """What is asked about: plan `number` of a store under the tables of a revision."""

    place: str
    revision: int
    number: int


@dataclass(frozen=True)
class Kept:
    """A plan's menu under changed facts: its margin in cents, or why it cannot be kept."""

    margin_cents: float | None
    why_not: str = ""


class Ground:
    """A plan in a week, and the neighbourhood that is built when it is first asked for."""

    def __init__(self, week: Week, plan: Plan) -> None:
        self.week, self.plan = same_days(plan, week), plan
        self._lock = threading.Lock()
        self._near: Nearby | None = None
        self._warming = False
        self._kept: dict[Changes, Kept] = {}

    @contextmanager
    def lent(self) -> Iterator[Nearby]:
        """The neighbourhood, to one at a time. Raises ValueError if the plan names what is gone."""
        with self._lock:
            yield self._built()

    def warm(self) -> None:
        """Begin to build it in the background, once: somebody is about to ask."""
        if not self._warming:
            self._warming = True
            threading.Thread(target=self.kept, daemon=True).start()

    def kept(self, changes: Sequence[Change] = ()) -> Kept:
        """The plan's menu after changes, packs and pieces chosen afresh, exact to the cent.

        Raises ValueError if a change does not fit.
        """
        key = tuple(changes)
        with self._lock:
            if key not in self._kept:
                self._kept[key] = self._under(key)
            return self._kept[key]

    def _under(self, changes: Changes) -> Kept:
        try:
            near = self._built()
        except ValueError as gone:
            return Kept(None, str(gone))
        if changes:
            near = Nearby(apply_all(self.week, changes), self.plan, near.memory)
        return Kept(near.kept.margin_cents) if near.kept else Kept(None, near.why_not_kept())

    def _built(self) -> Nearby:
        if self._near is None:
            known = self.week.cafe.dishes
            if gone := sorted({cook.dish for cook in self.plan.cooks} - known.keys()):
                raise ValueError(f"it cooks what is no dish any more: {', '.join(gone)}")
            self._near = Nearby(self.week, self.plan)
        return self._near


_held: OrderedDict[Hashable, Ground] = OrderedDict()
_lock = threading.Lock()


def spot_of(place: str, revision: int, present: Present) -> Spot:
    """What a page asks about that shows `present` under the tables of `revision`."""
    return Spot(place, revision, present.number)


def ground(spot: Spot, week: Week, plan: Plan, for_jobs: bool = False) -> Ground:
    """The ground held for a spot; the one used longest ago gives way."""
    key = (spot, for_jobs)
    with _lock:
        if key not in _held:
            _held[key] = Ground(week, plan)
        _held.move_to_end(key)
        while len(_held) > MOST_KEPT:
            _held.popitem(last=False)
        return _held[key]
