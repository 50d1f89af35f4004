"""What gives in a week whose rules may: columns of breach, and weeks in which some are above 0."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from optimiser.model import Model
from optimiser.solver import Values

Columns = frozenset[int]

CENTS_PER_PCT = 10_000.0
"""What giving up a percent of a rule is charged: far above any gain."""


@dataclass(frozen=True)
class Give:
    """One column of breach: the row's part, its item, and its day where it has one."""

    column: int
    part: int
    item: str
    day: date | None
    high: float = math.inf


@dataclass(frozen=True)
class Mend:
    """A week in which some rules give. `least`: proven that none gives less.

    `pct_of`: how much each column of breach above 0 gives up. `model`: whose columns `values` are.
    """

    values: Values
    pct_of: dict[int, float]
    least: bool
    model: Model

    @property
    def pct(self) -> float:
        """What is given up in all."""
        return sum(self.pct_of.values())

    @property
    def broken(self) -> Columns:
        """The columns of breach above 0."""
        return frozenset(self.pct_of)


@dataclass(frozen=True)
class Fractions:
    """What gives least when everything may be done in fractions."""

    pct: float
    broken: Columns
