"""A week made better by hand, so to say: its packs chosen afresh, then a few cooks exchanged,
again and again. What neighbourhoods of the whole model take much longer to find."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from itertools import islice

from optimiser.finish import finished
from optimiser.model import Model
from optimiser.near import Near
from optimiser.nearby import Nearby
from optimiser.solver import Values
from optimiser.together import together

ALONE = 12
"""So many of the best exchanges are put together each time."""

AT_ONCE = 4
"""So many cooks leave at once."""

LEAST_GAIN_CENTS = 1.0


class _Asked(threading.Event):
    """An event that is set once `over` says so."""

    def __init__(self, over: Callable[[], bool]) -> None:
        super().__init__()
        self._over = over

    def is_set(self) -> bool:
        return self._over()


def polished(model: Model, values: Values, stop: Callable[[], bool]) -> Iterator[Values]:
    """Better and better weeks of the model, until none is found so, or stopped."""
    margin = model.lp.value(values)
    near = Nearby(model.week, finished(model, values))
    best = near.kept
    while best is not None:
        better = best.margin_cents > margin + LEAST_GAIN_CENTS
        if better:
            margin, values = best.margin_cents, _in_columns_of(model, near, best)
            yield values
        if stop() or (best.enters and not better):
            return
        if best.enters:
            near = Nearby(model.week, finished(model, values), near.memory)
        best = _best_near(near, stop)


def _best_near(near: Nearby, stop: Callable[[], bool]) -> Near | None:
    alone = list(islice(near.changes(stop=_Asked(stop)), ALONE))
    return None if stop() else together(near, alone, alone, AT_ONCE)


def _in_columns_of(model: Model, near: Nearby, best: Near) -> Values:
    """The same week in the columns of the model asked about."""
    at = dict(zip(near.lp.names, best.values, strict=True))
    return [at.get(name, low) for name, low in zip(model.lp.names, model.lp.low, strict=True)]
