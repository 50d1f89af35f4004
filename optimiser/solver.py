"""HiGHS, held at arm's length: bounds, starts, limits, progress and stop.

Traps this file keeps to itself: a time-out is reported as optimal by PuLP, so
PuLP's status is never read; after a limit without a solution every value reads
0.0; relative gaps mislead when takings and costs nearly cancel, so only gaps in
money are asked for; `threads` is never varied (HiGHS would silently stop solving).
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np

from optimiser.lp import Handed, Lp, to_highs

Values = list[float]
CALLBACK = highspy.cb.HighsCallbackType
NO_LIMIT = 2**31 - 1
PROBING, ENUMERATION = 1 << 15, 1 << 16
"""Presolve rules of HiGHS that proved worse weeks best (1.13).

Enumeration may drop the row that fills a course's places (its issue 3216); probing called the
wrong number of jars best, and without both another rule did. So weeks are proven without any
presolve, blocks without probing. See DEVELOPERS.md, section 9."""
PROVEN_CENTS = 0.5
"""A gap below this is no gap: money comes in cents."""
DOUBT_CENTS = 1.0
"""More between our sum and the solver's is no rounding."""


@dataclass(frozen=True)
class Solved:
    """What a solve knows: values and margin (None: no solution found), proven bound.

    `bound` is an upper bound on the margin of the model as restricted when it was
    solved; `infeasible` means proven to have no solution at all.
    """

    values: Values | None
    margin: float | None
    bound: float
    infeasible: bool = False
    nodes: int = 0

    def closed(self, gap_cents: float) -> bool:
        """Whether no better values than by this much can exist."""
        return self.margin is not None and self.bound - self.margin <= gap_cents + PROVEN_CENTS

    @property
    def proven(self) -> bool:
        """Whether the values are proven best, to the cent."""
        return self.margin is not None and self.bound - self.margin <= 2 * PROVEN_CENTS


@dataclass
class Limits:
    """When to stop. Nodes are the deterministic limit; seconds depend on the machine."""

    seconds: float = math.inf
    nodes: int | None = None
    gap_cents: float = PROVEN_CENTS
    gap: float = 0.0
    """Relative gap: only to stop a construction early, never to claim a proof."""
    solutions: int | None = None
    """Stop at the so-manieth improving solution."""


Watch = Callable[[float | None, float], None]
"""Called with (best margin or None, bound) while a solve goes on."""


class Solver:
    """One HiGHS object for one model; restrictions come and go by column bounds."""

    def __init__(
        self,
        lp: Lp,
        seed: int = 0,
        relax: Iterable[int] = (),
        presolve: bool = False,
        handed: Handed | None = None,
    ) -> None:
        """`relax`: integer columns that it may take in fractions; `handed`: the same model, if it
        was handed over before. `presolve`: HiGHS simplifies the model first. Quicker for some, but
        its bounds are to be told only if something else agrees: see PROBING, ENUMERATION.
        """
        self.lp = lp
        handed = handed or to_highs(lp)
        self._h = highspy.Highs()
        for option, value in (("output_flag", False), ("threads", 1), ("random_seed", seed)):
            self._h.setOptionValue(option, value)
        self._h.passModel(handed.model)
        self._place = place = np.array(handed.place, dtype=np.int32)
        self._stop: Callable[[], bool] | None = None
        self._watch: Watch | None = None
        self._offered: np.ndarray | None = None
        self._lock = threading.Lock()
        self._integer = {j for j, whole in enumerate(lp.integer) if whole and place[j] >= 0}
        self._set_kind(relax, whole=False)
        self._h.setOptionValue("presolve", "choose" if presolve else "off")
        self._h.setOptionValue("presolve_rule_off", ENUMERATION)
        self._h.setOptionValue("mip_allow_restart", False)
        self._h.setOptionValue("mip_detect_symmetry", False)
        self._h.setCallback(self._callback, None)

    def make_whole(self, columns: Iterable[int]) -> None:
        """Take back the relaxation of these columns."""
        self._set_kind(columns, whole=True)

    def _set_kind(self, columns: Iterable[int], whole: bool) -> None:
        kind = highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous
        handed = {column for column in columns if self._place[column] >= 0}
        for column in handed:
            self._h.changeColIntegrality(int(self._place[column]), kind)
        self._integer = self._integer | handed if whole else self._integer - handed

    def restrict(self, bounds: dict[int, tuple[float, float]]) -> None:
        """Set the bounds of columns (those handed to HiGHS)."""
        columns = [j for j in bounds if self._place[j] >= 0]
        if columns:
            self._h.changeColsBounds(
                len(columns),
                self._place[columns],
                np.array([bounds[j][0] for j in columns], dtype=float),
                np.array([min(bounds[j][1], self.lp.far) for j in columns], dtype=float),
            )

    def offer(self, values: Values) -> None:
        """Hand over a solution found elsewhere; taken up at the solver's next chance."""
        with self._lock:
            self._offered = self._packed(values)

    def solve(
        self,
        limits: Limits,
        start: Values | None = None,
        stop: Callable[[], bool] | None = None,
        watch: Watch | None = None,
    ) -> Solved:
        """Run HiGHS within limits, from a start if given, until `stop()` says so."""
        h = self._h
        h.clearSolver()
        h.setOptionValue("time_limit", min(self._spent() + limits.seconds, 1e9))
        h.setOptionValue("mip_max_nodes", NO_LIMIT if limits.nodes is None else limits.nodes)
        most = NO_LIMIT if limits.solutions is None else limits.solutions
        h.setOptionValue("mip_max_improving_sols", most)
        h.setOptionValue("mip_abs_gap", limits.gap_cents)
        h.setOptionValue("mip_rel_gap", limits.gap)
        if start is not None:
            solution = highspy.HighsSolution()
            solution.col_value = list(self._packed(start))
            h.setSolution(solution)
        self._stop, self._watch = stop, watch
        h.startCallback(CALLBACK.kCallbackMipInterrupt)
        h.startCallback(CALLBACK.kCallbackSimplexInterrupt)
        switch = h.startCallback if watch is not None else h.stopCallback
        switch(CALLBACK.kCallbackMipUserSolution)
        h.run()
        return self._read()

    def _spent(self) -> float:
        """Seconds that HiGHS counts against the limit: without integer columns those of all
        solves so far, with them none."""
        return 0.0 if self._integer else float(self._h.getRunTime())

    def reduced_costs(self) -> Values:
        """After a solve of a model relaxed throughout: what each column would lose at
        least per unit if it came in (cents; infinite for columns not handed over)."""
        duals = np.abs(np.array(self._h.getSolution().col_dual))
        costs = np.full(len(self._place), math.inf)
        used = self._place >= 0
        costs[used] = duals[self._place[used]]
        return [float(cost) for cost in costs]

    def _packed(self, values: Values) -> np.ndarray:
        packed = np.zeros(self._h.getNumCol())
        used = self._place >= 0
        packed[self._place[used]] = np.array(values)[used]
        return packed

    def _read(self) -> Solved:
        h, status = self._h, self._h.getModelStatus()
        info = h.getInfo()
        statuses = highspy.HighsModelStatus
        if status in (statuses.kInfeasible, statuses.kUnboundedOrInfeasible):
            return Solved(None, None, -math.inf, infeasible=True)
        if status == statuses.kModelEmpty:
            return self._nothing_to_choose()
        bound = self.lp.constant - info.mip_dual_bound
        if not any(self.lp.integer):
            bound = self.lp.constant - info.objective_function_value
        found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        if not found:
            return Solved(None, None, bound, nodes=max(0, info.mip_node_count))
        raw = np.array(h.getSolution().col_value)
        values = np.array(self.lp.low, dtype=float)
        used = self._place >= 0
        values[used] = raw[self._place[used]]
        return self._believed(values.tolist(), bound, info)

    def _believed(self, values: Values, bound: float, info: Any) -> Solved:
        """The margin is our own sum; where HiGHS says another, or a column went as far as the
        bound that we made up, nothing it proved counts."""
        margin, nodes = self.lp.value(values), info.mip_node_count
        said = self.lp.constant - info.objective_function_value
        if abs(said - margin) > DOUBT_CENTS or self.lp.reaches_far(values):
            return Solved(values, margin, math.inf, nodes=nodes)
        return Solved(values, margin, max(bound, margin), nodes=nodes)

    def _nothing_to_choose(self) -> Solved:
        """Every column is fixed: the only candidate is their lowest values."""
        values = list(self.lp.low)
        if self.lp.worst_breach(values) > 1e-6:
            return Solved(None, None, -math.inf, infeasible=True)
        margin = self.lp.value(values)
        return Solved(values, margin, margin)

    def _callback(self, kind: Any, _text: str, out: Any, data_in: Any, _user: Any) -> None:
        # Written every time: what is set here stays set for the next solve.
        data_in.user_interrupt = self._stop is not None and self._stop()
        if kind == CALLBACK.kCallbackMipUserSolution and self._offered is not None:
            with self._lock:
                offered, self._offered = self._offered, None
            if offered is not None:
                data_in.setSolution(offered)
        if self._watch is not None and kind == CALLBACK.kCallbackMipInterrupt:
            best = out.mip_primal_bound
            margin = None if abs(best) > 1e15 else self.lp.constant - best
            self._watch(margin, self.lp.constant - out.mip_dual_bound)
