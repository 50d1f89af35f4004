"""Small models, solved many times for other row limits: whole, or in fractions as a bound."""

from __future__ import annotations

import math
from typing import Any

import highspy
import numpy as np

from optimiser.lp import Lp
from optimiser.solver import NO_LIMIT, PROBING, Values

SMALL_GAP_CENTS = 0.001
"""A gap below this is none for a part of a week: many of them are added up."""

INTEGER_TOLERANCE = 1e-6
"""By how much rows of models with whole columns may be missed; in fractions so much is allowed
too, or what fits whole might be said not to fit."""

HEURISTICS = ("feasibility_jump", "root_reduced_cost", "rins", "rens")
"""Of HiGHS, for finding weeks; a model of a few columns is solved three times as fast without."""


class SmallSolver:
    """A model of a few columns, solved many times for other row limits."""

    def __init__(self, lp: Lp, columns: list[int], rows: list[dict[int, float]]) -> None:
        """`rows`: coefficients by place in `columns`."""
        self._h = highspy.Highs()
        for option, value in (
            ("output_flag", False),
            ("threads", 1),
            ("mip_rel_gap", 0.0),
            ("mip_abs_gap", SMALL_GAP_CENTS),
            ("presolve_rule_off", PROBING),
            *((f"mip_heuristic_run_{name}", False) for name in HEURISTICS),
        ):
            self._h.setOptionValue(option, value)
        self._far = lp.far
        self._rows = np.arange(len(rows), dtype=np.int32)
        self._kinds = [lp.integer[j] for j in columns]
        kinds = highspy.HighsVarType
        model = _small_model(lp, columns, rows)
        model.integrality_ = [kinds.kInteger if k else kinds.kContinuous for k in self._kinds]
        self._h.passModel(model)

    def solve(self, low: np.ndarray, high: np.ndarray) -> tuple[float, Values] | None:
        """Gain and values of the best solution within these row limits; None: there is none.

        Raises RuntimeError if HiGHS comes to no answer.
        """
        h = self._run(low, high)
        status, statuses = h.getModelStatus(), highspy.HighsModelStatus
        if status in (statuses.kInfeasible, statuses.kUnboundedOrInfeasible):
            return None
        if status != statuses.kOptimal:
            raise RuntimeError(f"HiGHS came to no answer: {h.modelStatusToString(status)}")
        values = list(h.getSolution().col_value)
        if max(values) > self._far - 1:
            raise RuntimeError("HiGHS came to no answer: more of something is always better")
        return -h.getInfo().objective_function_value, values

    def fits(self, low: np.ndarray, high: np.ndarray) -> bool:
        """Whether anything is within these row limits. Raises RuntimeError as `solve`."""
        self._h.setOptionValue("mip_max_improving_sols", 1)
        try:
            status, statuses = self._run(low, high).getModelStatus(), highspy.HighsModelStatus
        finally:
            self._h.setOptionValue("mip_max_improving_sols", NO_LIMIT)
        if status in (statuses.kOptimal, statuses.kSolutionLimit):
            return True
        if status in (statuses.kInfeasible, statuses.kUnboundedOrInfeasible):
            return False
        raise RuntimeError(f"HiGHS came to no answer: {self._h.modelStatusToString(status)}")

    def _run(self, low: np.ndarray, high: np.ndarray) -> Any:
        h = self._h
        h.changeRowsBounds(len(self._rows), self._rows, low, high)
        if any(self._kinds):  # without integers the last basis is the better start
            h.clearSolver()
        h.run()
        return h


class SmallRelaxed:
    """The same model in fractions: what the best can be at most."""

    def __init__(self, lp: Lp, columns: list[int], rows: list[dict[int, float]]) -> None:
        """`rows`: coefficients by place in `columns`."""
        self._h = highspy.Highs()
        for option, value in (
            ("output_flag", False),
            ("threads", 1),
            ("primal_feasibility_tolerance", INTEGER_TOLERANCE),
        ):
            self._h.setOptionValue(option, value)
        self._rows = np.arange(len(rows), dtype=np.int32)
        self._h.passModel(_small_model(lp, columns, rows))

    def solve(self, low: np.ndarray, high: np.ndarray) -> tuple[float, np.ndarray] | None:
        """Gain, and by how much it grows at most where the limits of a row fall by one, by row;
        None: nothing fits. Infinite if HiGHS comes to no answer."""
        h = self._h
        h.changeRowsBounds(len(self._rows), self._rows, low, high)
        h.run()
        status, statuses = h.getModelStatus(), highspy.HighsModelStatus
        if status == statuses.kInfeasible:
            return None
        if status != statuses.kOptimal:
            return math.inf, np.zeros(len(self._rows))
        gain = -h.getInfo().objective_function_value
        return gain, np.array(h.getSolution().row_dual)


def _small_model(lp: Lp, columns: list[int], rows: list[dict[int, float]]) -> Any:
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(columns), len(rows)
    model.col_cost_ = np.array([-lp.gain[j] for j in columns], dtype=float)
    model.col_lower_ = np.array([lp.low[j] for j in columns], dtype=float)
    model.col_upper_ = np.array(lp.solver_high(columns), dtype=float)
    model.row_lower_ = np.full(len(rows), -math.inf)
    model.row_upper_ = np.full(len(rows), math.inf)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    starts = np.cumsum([0, *(len(row) for row in rows)])
    model.a_matrix_.start_ = starts.astype(np.int32)
    model.a_matrix_.index_ = np.array([j for row in rows for j in row], dtype=np.int32)
    model.a_matrix_.value_ = np.array([c for row in rows for c in row.values()], dtype=float)
    return model
