"""Menus near a plan's, questions about them, and news while they are looked for."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass, field

from optimiser.exchanges import Exchange
from optimiser.progress import Progress, Report
from optimiser.runs import Run
from optimiser.solver import Values


@dataclass(frozen=True)
class Change:
    """One exchange and what it brings, in cents."""

    exchange: Exchange
    gain_cents: float


@dataclass(frozen=True)
class Ask:
    """A question about menus with a few changes.

    `changes`: cooks of the plan that may leave. `among`: runs that may come in. `must`: runs
    of which at least one has to be there (none: nothing has to). `without`: runs that may not be;
    those of the plan leave without being counted.
    """

    changes: int
    among: tuple[Run, ...]
    must: tuple[Run, ...] = ()
    without: tuple[Run, ...] = ()


@dataclass(frozen=True)
class Near:
    """A menu near the plan's.

    `margin_cents` is its week's; no menu of the same neighbourhood earns more than
    `bound_cents`. `among`: ids of the dishes that could come in; None: all.
    """

    enters: tuple[Run, ...]
    leaves: tuple[Run, ...]
    margin_cents: float
    bound_cents: float
    values: Values = field(repr=False)
    among: frozenset[str] | None = None

    @property
    def exact(self) -> bool:
        """Whether nothing in the neighbourhood is better by a cent."""
        return self.bound_cents - self.margin_cents <= 1.0


class Watched:
    """Passes news on, at most a few times a second."""

    def __init__(self, report: Report | None, best_cents: float) -> None:
        self._report, self._best = report, best_cents
        self._started = self._last = time.monotonic()

    def saw(self, margin_cents: float | None, looks: int) -> None:
        """One more look at a menu; its margin, if that is known now."""
        self._best = max(self._best, -math.inf if margin_cents is None else margin_cents)
        self._say(f"exchanging one cook, {looks} looks", self._best, None)

    def looked(self, doing: str, margin_cents: float) -> None:
        """One more price has been looked at."""
        self._say(doing, margin_cents, None)

    def solving(self, margin_cents: float | None, bound_cents: float) -> None:
        """News of a solve that goes on."""
        self._best = max(self._best, margin_cents or -math.inf)
        self._say("several changes at once", self._best, bound_cents)

    def _say(self, doing: str, best: float, bound: float | None) -> None:
        now = time.monotonic()
        if self._report is not None and now - self._last > 0.2:
            self._last = now
            self._report(Progress(now - self._started, doing, best, bound))
