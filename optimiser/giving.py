"""What gives in a week whose rules may: columns of breach, and weeks in which some are above 0."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from optimiser.model import Model
from optimiser.solver import Values

Columns = frozenset[int]


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

    `model`: whose columns `values` are.
    """

    values: Values
    pct: float
    broken: Columns
    least: bool
    model: Model


@dataclass(frozen=True)
class Fractions:
    """What gives least when everything may be done in fractions."""

    pct: float
    broken: Columns
