"""A linear model with integers, as plain lists, and its translation to PuLP.

Columns are numbered; sums are lists of (column, coefficient). Everything that
depends on the version of PuLP stands here (3.3 on Python 3.11, 4 from 3.12 on).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import pulp

Terms = list[tuple[int, float]]


FAR = 1e7
"""Upper bound of columns that have none, as solvers see them: ten tonnes, or $100,000. HiGHS cuts
off best answers where columns are unbounded (DEVELOPERS.md, section 9)."""

FAR_TIMES, NEED_TIMES = 1000.0, 10.0
"""Where amounts are large (money of small units), it is so many times the largest coefficient of
any row, or so many times what a row asks for."""


@dataclass
class Row:
    """low <= terms <= high; None is no limit on that side. Columns are distinct."""

    name: str
    terms: dict[int, float]
    low: float | None
    high: float | None


def rule_number(row: str) -> int | None:
    """The place in week.rules of the rule that a row belongs to, by the name `Rows` gave it."""
    found = re.match(r"r(\d+)_", row)
    return int(found[1]) if found else None


@dataclass
class Lp:
    """Maximise `constant` + sum of gain[j] x column j, subject to rows."""

    names: list[str] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float | None] = field(default_factory=list)
    integer: list[bool] = field(default_factory=list)
    gain: list[float] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    constant: float = 0.0
    far: float = FAR
    """Upper bound of columns without one, as solvers see them; larger than any week needs."""
    _taken: set[str] = field(default_factory=set)

    def column(
        self, name: str, low: float = 0.0, high: float | None = None, integer: bool = False
    ) -> int:
        """A new column. Raises ValueError on a name used before (it would crash a solver)."""
        self._claim("c:" + name)
        self.names.append(name)
        self.low.append(low)
        self.high.append(high)
        self.integer.append(integer)
        self.gain.append(0.0)
        return len(self.names) - 1

    def row(
        self, name: str, terms: Terms, low: float | None = None, high: float | None = None
    ) -> None:
        """A new row. Empty rows are kept when they cannot hold, dropped when they can.

        Raises ValueError on a name used before.
        """
        self._claim("r:" + name)
        merged = merge(terms)
        if not merged and (low or 0.0) <= 1e-9 and (high is None or high >= -1e-9):
            return
        self.rows.append(Row(name, merged, low, high))
        largest = max((abs(c) for c in merged.values()), default=0.0)
        need = max(low or 0.0, -(high or 0.0))
        self.far = max(self.far, FAR_TIMES * largest, NEED_TIMES * need)

    def earn(self, terms: Terms, constant: float = 0.0) -> None:
        """Add to the objective."""
        for column, coefficient in terms:
            self.gain[column] += coefficient
        self.constant += constant

    def rule_out(self) -> int:
        """Fix at 0 every integer column too large for some row on its own.

        In a row of non-negative terms a + b + ... <= high, a column whose
        coefficient exceeds `high` can never be 1. A linear relaxation would still
        use half of it. Columns that are fixed at 0 already count for nothing.
        Returns how many were fixed.
        """
        fixed = 0
        for row in self.rows:
            for j in self.too_large(row):
                self.high[j] = 0.0
                fixed += 1
        return fixed

    def too_large(self, row: Row, without: int | None = None) -> list[int]:
        """Integer columns that can only be 0 in this row; `without`: a column that is 0."""
        high, terms = row.high, [(j, c) for j, c in row.terms.items() if self.high[j] != 0]
        used = [(j, c) for j, c in terms if j != without]
        if high is None or any(c < 0 or self.low[j] < 0 for j, c in used):
            return []
        return [j for j, c in used if self.integer[j] and c > high + 1e-6]

    def solver_high(self, columns: Iterable[int]) -> list[float]:
        """Upper bounds for a solver: of columns without one a bound that no week comes near."""
        return [self.far if (high := self.high[j]) is None else high for j in columns]

    def reaches_far(self, values: Any) -> bool:
        """Whether a column is only held by the bound that `solver_high` gave it."""
        most = self.far - 1
        return any(v > most for v, high in zip(values, self.high, strict=True) if high is None)

    def value(self, values: Any) -> float:
        """The objective at the given column values."""
        return float(self.constant + sum(g * values[j] for j, g in enumerate(self.gain) if g))

    def worst_breach(self, values: Any) -> float:
        """By how much the given column values break the most broken row; 0 if none."""
        worst = 0.0
        for row in self.rows:
            total = sum(c * values[j] for j, c in row.terms.items())
            if row.high is not None:
                worst = max(worst, total - row.high)
            if row.low is not None:
                worst = max(worst, row.low - total)
        return worst

    def _claim(self, name: str) -> None:
        if name in self._taken:
            raise ValueError(f"two parts of the model are both called {name[2:]}")
        self._taken.add(name)


def merge(terms: Terms) -> dict[int, float]:
    """Add up repeated columns and drop zeros."""
    merged: dict[int, float] = {}
    for column, coefficient in terms:
        merged[column] = merged.get(column, 0.0) + coefficient
    return {column: c for column, c in merged.items() if c}


def scaled(terms: Terms, factor: float) -> Terms:
    """factor x terms."""
    return [(column, factor * coefficient) for column, coefficient in terms]


def to_pulp(lp: Lp) -> tuple[pulp.LpProblem, list[Any]]:
    """The PuLP problem (minimise minus the margin, without constant) and its variables.

    PuLP's two versions treat maximisation and constants differently; a
    minimisation without constant means the same to both. Columns fixed at 0 are
    left out of every sum.
    """
    problem = pulp.LpProblem("week", pulp.LpMinimize)
    highs = lp.solver_high(range(len(lp.names)))
    variables = [
        problem.add_variable(name, low, high, "Integer" if whole else "Continuous")
        for name, low, high, whole in zip(lp.names, lp.low, highs, lp.integer, strict=True)
    ]
    free = [not low == high == 0 for low, high in zip(lp.low, lp.high, strict=True)]
    problem.setObjective(
        _affine([(variables[j], -g) for j, g in enumerate(lp.gain) if g and free[j]])
    )
    for row in lp.rows:
        terms = [(variables[j], c) for j, c in row.terms.items() if free[j]]
        if row.low is not None and row.low == row.high:
            problem.addConstraint(_affine(terms) == row.low, row.name)
            continue
        if row.high is not None:
            problem.addConstraint(_affine(terms) <= row.high, row.name)
        if row.low is not None:
            name = row.name if row.high is None else row.name + "__low"
            problem.addConstraint(_affine(terms) >= row.low, name)
    return problem, variables


@dataclass(frozen=True)
class Handed:
    """A model as HiGHS has it, and the HiGHS column of each of ours; -1 if it was left out."""

    model: Any
    place: list[int]


def to_highs(lp: Lp) -> Handed:
    """Hand a model to HiGHS. PuLP hands over only columns that occur somewhere."""
    problem, variables = to_pulp(lp)
    solver = pulp.HiGHS(msg=False, log_to_console=False)
    solver.createAndConfigureSolver(problem)
    solver.buildSolverModel(problem)
    handed_over = getattr(problem, "exported_variables", problem.variables)()
    place = {variable.name: j for j, variable in enumerate(handed_over)}
    model = problem.solverModel.getLp()
    return Handed(model, [place.get(variable.name, -1) for variable in variables])


def _affine(terms: list[tuple[Any, float]]) -> Any:
    build = getattr(pulp.LpAffineExpression, "from_list", pulp.LpAffineExpression)
    return build(terms)
