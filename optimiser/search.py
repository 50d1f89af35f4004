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
from collections.abc import Callable
from dataclasses import dataclass, field

from optimiser.model import Model
from optimiser.neighbourhoods import Neighbourhoods
from optimiser.solver import Limits, Solved, Solver, Values

FIRST_NODES = 20
ROUND_NODES = 200
ROUND_SECONDS = 6.0
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
                self._take(result.values, result.margin or -math.inf)
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
            limits = Limits(min(ROUND_SECONDS, self._seconds_left()), ROUND_NODES)
            if self.effort.work is not None:
                limits = Limits(nodes=ROUND_NODES)
            result = improver.solve(limits, start=self.found.values, stop=self._done)
            better = self._take(result.values, result.margin or -math.inf)
            around.learn(better, result.proven)
            self.found.rounds += 1

    def _construct(self, start: Values | None) -> Solver | None:
        """A first week: the start given, else the menu of the model with relaxed packs."""
        improver = Solver(self.model.lp, self.effort.seed)
        if start is None:
            self._say("choosing a first menu")
            relaxed = Solver(self.model.lp, self.effort.seed, relax=self.model.lumps())
            seconds = math.inf if self.effort.work is not None else self._seconds_left()
            menu = relaxed.solve(Limits(seconds, FIRST_NODES, 10_000.0), stop=self._done)
            while menu.values is None and not menu.infeasible and not self._over():
                menu = relaxed.solve(Limits(seconds), stop=self._done)
            if menu.values is None:
                return None
            start = menu.values
        self._say("packs and pieces for the first menu")
        improver.restrict({j: (float(round(start[j])),) * 2 for j in self.model.run_column.values()})
        seconds = math.inf if self.effort.work is not None else self._seconds_left()
        first = improver.solve(Limits(seconds, ROUND_NODES), stop=self._done)
        self._take(first.values, first.margin or -math.inf)
        return improver if self.found.values is not None else None

    def _held(self, free: set[int]) -> dict[int, tuple[float, float]]:
        values = self.found.values or []
        return {
            column: (0.0, 1.0) if run in free else (round(values[column]),) * 2
            for run, column in self.model.run_column.items()
        }

    # -- bookkeeping ------------------------------------------------------

    def _take(self, values: Values | None, margin: float) -> bool:
        """Keep a week if it is better by a cent; tell the prover."""
        if values is None or margin < self.found.margin + 1.0:
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
