"""Exchanges put together: a good menu with a few cooks changed, quickly, to start a proof from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimiser.near import Change, Near
from optimiser.runs import Run

if TYPE_CHECKING:
    from optimiser.nearby import Nearby

MOST_ALONE = 25
"""So many of the best exchanges are put together with others."""

MOST_TRIED = 40
"""So many combinations are worked out, those first that bring most if each brings what it does
alone."""

MOST_KEPT = 10
"""So many of them go on to be put together with one more."""


@dataclass(frozen=True)
class _Several:
    """Exchanges that do not get in each other's way; `gain_cents`: what they bring together."""

    enters: tuple[Run, ...]
    leaves: tuple[Run, ...]
    gain_cents: float

    def with_one(self, change: Change) -> _Several | None:
        """With one more, its gain added; None if both change the same cook."""
        one = change.exchange
        if one.enters in self.enters or not set(one.leaves).isdisjoint(self.leaves):
            return None
        gain = self.gain_cents + change.gain_cents
        return _Several((*self.enters, one.enters), (*self.leaves, *one.leaves), gain)


def together(
    near: Nearby, first: Iterable[Change], others: Sequence[Change], leaving: int
) -> Near | None:
    """The best that was found of menus made by one of `first` and some of `others`, at most so
    many cooks leaving; all ties kept. None if there is none. Both lists best first."""
    several = [_Several((), (), 0.0)]
    found: list[_Several] = []
    choices: Sequence[Change] = list(first)[:MOST_ALONE]
    for _ in range(leaving):
        several = _next(near, several, choices, leaving)
        found += several
        several, choices = several[:MOST_KEPT], others[:MOST_ALONE]
    for best in sorted(found, key=lambda one: -one.gain_cents)[:MOST_KEPT]:
        weighed = near.weigh_all(best.enters, best.leaves)
        if weighed is not None:
            return weighed
    return None


def _next(
    near: Nearby, several: Sequence[_Several], choices: Sequence[Change], leaving: int
) -> list[_Several]:
    """The best with one exchange more, worked out, best first."""
    longer = [more for one in several for change in choices if (more := one.with_one(change))]
    longer = [one for one in longer if len(one.leaves) <= leaving]
    longer.sort(key=lambda one: -one.gain_cents)
    tried: list[_Several] = []
    for one in longer[:MOST_TRIED]:
        gain = near.gain_of(one.enters, one.leaves)
        if gain is not None:
            tried.append(_Several(one.enters, one.leaves, gain))
    return sorted(tried, key=lambda one: -one.gain_cents)
