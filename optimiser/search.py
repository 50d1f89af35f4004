"""Construct, improve, prove: how a good week is found and how good it is shown to be.

Construct: relax whole packs and pieces for a moment, take that menu, then solve
its packs exactly. Improve: free a neighbourhood of runs (two days, a third of the
dishes, the users of one ingredient, a course), hold the rest, solve exactly, keep
what is better. Prove: meanwhile HiGHS works on the whole model in a second thread
and pushes the bound down; it is told of every better week and tells of its own.

With a work limit nothing depends on the clock: the improver makes a fixed number
of rounds, the prover a fixed number of nodes, and they meet only at the end.
"""

from __future__ import annotations

import math
import random
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from optimiser.model import Model
from optimiser.neighbourhoods import Neighbourhoods
from optimiser.solver import Limits, Solved, Solver, Values

FIRST_NODES = 30
FIRST_GAP = 0.01
ROUND_NODES = 30
ROUND_SECONDS = 3.0
LEAST_GAIN_CENTS = 100.0
"""A neighbourhood is closed when no gain of a dollar is left in it."""
PROVER_NODES_PER_ROUND = 25


@dataclass(frozen=True)
class Effort:
    """How long to search. `work` (rounds) makes the result repeatable; `seconds` does not."""

    seconds: float = 60.0
    work: int | None = None
    seed: int = 0
    enough_gap_cents: float = 0.0


@dataclass(frozen=True)
class Progress:
    """What is known so far: money in cents; None while there is none."""

    seconds: float
    doing: str
    best_cents: float | None
    bound_cents: float | None


@dataclass
class Found:
    """Outcome of a search. `infeasible`: proven that no week keeps the hard rules."""

    values: Values | None = None
    margin: float = -math.inf
    bound: float = math.inf
    infeasible: bool = False
    rounds: int = 0
    history: list[Progress] = field(default_factory=list)


Report = Callable[[Progress], None]


class Search:
    """One search on one model. `stop` ends it at the next chance, keeping the best."""

    def __init__(
        self,
        model: Model,
        effort: Effort,
        report: Report | None = None,
        stop: threading.Event | None = None,
    ) -> None:
        self.model, self.effort = model, effort
        self.found = Found()
        self._report = report or (lambda progress: None)
        self._stop = stop or threading.Event()
        self._done = threading.Event()
        self._started = time.monotonic()
        self._prover = Solver(model.lp, effort.seed)
        self._prover_result: Solved | None = None
        self._doing = "building"

    def run(self, start: Values | None = None) -> Found:
        """Search until proven, out of time or work, or stopped."""
        prover = threading.Thread(target=self._prove, daemon=True)
        prover.start()
        try:
            self._improve(start)
        except KeyboardInterrupt:
            self._stop.set()
        finally:
            if self.effort.work is None or self._stop.is_set():
                self._done.set()
            prover.join()
        result = self._prover_result
        if result is not None:
            self._tighten(result.bound)
            if result.values is not None:
                self._take(result.values, result.margin)
            self.found.infeasible = result.infeasible and self.found.values is None
        return self.found

    # -- proving ----------------------------------------------------------

    def _prove(self) -> None:
        limits = Limits(self._seconds_left())
        if self.effort.work is not None:
            limits = Limits(nodes=PROVER_NODES_PER_ROUND * self.effort.work)
        result = self._prover.solve(limits, stop=self._done, watch=self._watched)
        self._prover_result = result
        if result.proven or result.infeasible:
            self._done.set()

    def _watched(self, _margin: float | None, bound: float) -> None:
        if self.effort.work is None:
            self._tighten(bound)
        if self._stop.is_set() or self._enough():
            self._done.set()

    # -- improving --------------------------------------------------------

    def _improve(self, start: Values | None) -> None:
        improver = self._construct(start)
        if improver is None:
            return
        around = Neighbourhoods(self.model, random.Random(self.effort.seed))
        while not self._over():
            assert self.found.values is not None
            name, free = around.choose(self.found.values)
            self._say(f"improving: {name}")
            improver.restrict(self._held(free))
            limits = self._limits(ROUND_NODES, gap_cents=LEAST_GAIN_CENTS)
            if self.effort.work is None:
                limits.seconds = min(limits.seconds, ROUND_SECONDS)
            result = improver.solve(limits, start=self.found.values, stop=self._done)
            better = self._take(result.values, result.margin)
            around.learn(better, result.closed(LEAST_GAIN_CENTS))
            self.found.rounds += 1

    def _construct(self, start: Values | None) -> Solver | None:
        """A first week: the menu given, or one chosen day by day; then its packs."""
        improver = Solver(self.model.lp, self.effort.seed)
        for menu in self._menus(start):
            self._say("packs and pieces for the first menu")
            runs = self.model.run_column.values()
            improver.restrict({j: (float(round(menu[j])),) * 2 for j in runs})
            first = improver.solve(self._limits(FIRST_NODES, FIRST_GAP), stop=self._done)
            if self._take(first.values, first.margin):
                return improver
        return None

    def _menus(self, start: Values | None) -> Iterator[Values]:
        """Menus worth trying, the quickest first; the last is a whole week."""
        if start is not None:
            yield start
        self._say("choosing a first menu, day by day")
        menu = self._day_by_day()
        if menu is not None:
            yield menu
        self._say("choosing a first menu in one go")
        exact = Solver(self.model.lp, self.effort.seed)
        week = exact.solve(self._limits(None, gap_cents=math.inf), stop=self._done)
        if week.values is not None:
            yield week.values

    def _day_by_day(self) -> Values | None:
        """Choose one day's cooks at a time; later days, packs and vans in fractions."""
        model = self.model
        whole = [j for j, integer in enumerate(model.lp.integer) if integer]
        solver = Solver(model.lp, self.effort.seed, relax=whole)
        parts = [*model.extra.items(), *model.steps.items()]
        chosen: Values | None = None
        for day in model.week.open_dates:
            runs = [model.run_column[r.index] for r in model.runs if r.cook_day == day]
            solver.make_whole([*runs, *(column for (_, d), column in parts if d == day)])
            solved = solver.solve(self._limits(FIRST_NODES, FIRST_GAP), stop=self._done)
            if solved.values is None:
                return None
            chosen = solved.values
            solver.restrict({j: (float(round(chosen[j])),) * 2 for j in runs})
        return chosen

    def _limits(self, nodes: int | None, gap: float = 0.0, gap_cents: float = 0.5) -> Limits:
        """Within the time left; with a work limit nothing depends on the clock."""
        seconds = math.inf if self.effort.work is not None else self._seconds_left()
        return Limits(seconds, nodes, gap_cents, gap)

    def _held(self, free: set[int]) -> dict[int, tuple[float, float]]:
        """Bounds that free these runs and the packs and pieces of all they use."""
        values = self.found.values or []
        bounds = {
            column: (0.0, 1.0) if run in free else (float(round(values[column])),) * 2
            for run, column in self.model.run_column.items()
        }
        touched = {item for run in free for item in self.model.runs[run].uses_g}
        for item, columns in self.model.lumps_of().items():
            for j in columns:
                high = self.model.lp.high[j]
                wide = (0.0, math.inf if high is None else high)
                bounds[j] = wide if item in touched else (float(round(values[j])),) * 2
        return bounds

    # -- bookkeeping ------------------------------------------------------

    def _take(self, values: Values | None, margin: float | None) -> bool:
        """Keep a week if it is better by a cent; tell the prover."""
        if values is None or margin is None or margin < self.found.margin + 1.0:
            return False
        self.found.values, self.found.margin = values, margin
        if self.effort.work is None:
            self._prover.offer(values)
        self._say(self._doing)
        return True

    def _tighten(self, bound: float) -> None:
        if bound < self.found.bound - 0.01:
            self.found.bound = bound
            self._say(self._doing)

    def _say(self, doing: str) -> None:
        self._doing = doing
        found = self.found
        progress = Progress(
            time.monotonic() - self._started,
            doing,
            None if found.values is None else found.margin,
            None if math.isinf(found.bound) else found.bound,
        )
        found.history.append(progress)
        self._report(progress)

    def _enough(self) -> bool:
        return self.found.bound - self.found.margin <= max(1.0, self.effort.enough_gap_cents)

    def _seconds_left(self) -> float:
        return max(0.1, self.effort.seconds - (time.monotonic() - self._started))

    def _over(self) -> bool:
        if self._stop.is_set():
            return True
        if self.effort.work is not None:
            return self.found.rounds >= self.effort.work
        out_of_time = time.monotonic() - self._started >= self.effort.seconds
        return self._done.is_set() or out_of_time
