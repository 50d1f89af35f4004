"""Construct, improve, prove: how a good week is found and how good it is shown to be.

Construct: choose one day's cooks at a time, later days, packs and vans still in fractions; then
solve the packs of that menu. Improve: packs afresh and exchanges of cooks (`polish.py`) until they
bring no more; then free a neighbourhood of runs (some dishes, the users of one ingredient, a
course, a course on some days) with the packs of all they use, hold the rest, solve, keep what is
better. Prove: HiGHS works on the whole model and pushes the bound down.

Two threads share this. The first constructs and improves; the second proves, and
when the bound stalls it improves too.

With a work limit nothing depends on the clock: the first thread makes a fixed number of rounds,
the second spends a fixed number of nodes on the bound, and they meet only at the end.
"""

from __future__ import annotations

import math
import random
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field

from optimiser.ease import week_of_menu
from optimiser.first_menu import CAREFUL, QUICK, Care, day_by_day
from optimiser.lp import to_highs
from optimiser.model import Model
from optimiser.neighbourhoods import ROUND_NODES, ROUND_SECONDS, Neighbourhoods, held
from optimiser.progress import Progress, Report
from optimiser.solver import Limits, Solved, Solver, Values

STALL_SECONDS = 12.0
STALL_CENTS = 20.0
"""A prover whose bound falls by less than this for so long helps to improve instead."""
LEAST_GAIN_CENTS = 100.0
"""A neighbourhood is closed when no gain of a dollar is left in it."""
PROVER_NODES_PER_ROUND = 25


@dataclass(frozen=True)
class Effort:
    """How long to search. `work` (rounds) makes the result repeatable; `seconds` does not."""

    seconds: float = 60.0
    work: int | None = None
    seed: int = 0


@dataclass
class Found:
    """Outcome of a search. `infeasible`: proven that no week keeps the hard rules."""

    values: Values | None = None
    margin: float = -math.inf
    bound: float = math.inf
    infeasible: bool = False
    rounds: int = 0
    history: list[Progress] = field(default_factory=list)


Polish = Callable[[Model, Values, Callable[[], bool]], Iterator[Values]]


class Search:
    """One search on one model. `stop` ends it at the next chance, keeping the best."""

    def __init__(
        self,
        model: Model,
        effort: Effort,
        report: Report | None = None,
        stop: threading.Event | None = None,
        polish: Polish | None = None,
    ) -> None:
        """`polish`: what makes a first week better before neighbourhoods are freed."""
        self.model, self.effort, self._polish = model, effort, polish
        self.found = Found()
        self._report = report or (lambda progress: None)
        self._stop = stop or threading.Event()
        self._done = threading.Event()
        self._prover_done = threading.Event()
        self._lock = threading.RLock()
        self._started = time.monotonic()
        self._bound_moved = self._started
        self._handed = to_highs(model.lp)
        self._prover = Solver(model.lp, effort.seed, handed=self._handed)
        self._improver = Solver(model.lp, effort.seed, presolve=True, handed=self._handed)
        self._proof: Solved | None = None
        self._timed = effort.work is None
        self._doing = "building"

    def run(self, start: Values | None = None) -> Found:
        """Search until proven, out of time or work, or stopped."""
        prover = threading.Thread(target=self._second_thread, daemon=True)
        prover.start()
        try:
            if self._construct(start):
                self._exchange()
                self._improve(self._improver, self.effort.seed)
        except KeyboardInterrupt:
            self._stop.set()
        finally:
            if self._timed or self._stop.is_set():
                self._finish()
            prover.join()
        if self._proof is not None:
            self._conclude(self._proof)
        return self.found

    # -- proving ----------------------------------------------------------

    def _second_thread(self) -> None:
        """The bound; when that stalls, improve too.

        With a work limit only the bound, kept until the improver is through.
        """
        if not self._timed:
            limits = Limits(nodes=PROVER_NODES_PER_ROUND * (self.effort.work or 1))
            self._proof = self._prover.solve(limits, stop=self._stop_proving)
            return
        result = self._prover.solve(
            Limits(self._seconds_left()), stop=self._stop_proving, watch=self._watched
        )
        self._conclude(result)
        if result.proven or result.infeasible:
            self._finish()
        elif not self._over() and self.found.values is not None:
            self._improve(self._prover, self.effort.seed + 1)

    def _conclude(self, result: Solved) -> None:
        """Take what a solve of the whole, unrestricted model says."""
        if result.infeasible:
            with self._lock:
                self.found.infeasible = self.found.values is None
            return
        self._tighten(result.bound)
        self._take(result.values, result.margin)

    def _watched(self, _margin: float | None, bound: float) -> None:
        """Called often by the prover: pass its bound on, and end it when it stalls."""
        self._tighten(bound)
        stalled = time.monotonic() - self._bound_moved > STALL_SECONDS
        if stalled and self.found.values is not None:
            self._prover_done.set()
        if self._enough():
            self._finish()

    def _stop_proving(self) -> bool:
        return self._prover_done.is_set() or self._stop.is_set()

    def _stop_improving(self) -> bool:
        return self._done.is_set() or self._stop.is_set()

    def _finish(self) -> None:
        self._done.set()
        self._prover_done.set()

    # -- improving --------------------------------------------------------

    def _exchange(self) -> None:
        """Better weeks by hand, as far as time allows."""
        values = self.found.values
        if self._polish is None or not self._timed or values is None:
            return
        self._say("exchanging cooks")
        with suppress(RuntimeError):  # a block without an answer: neighbourhoods go on
            for better in self._polish(self.model, values, self._over):
                self._take(better, self.model.lp.value(better))

    def _improve(self, solver: Solver, seed: int) -> None:
        """Free a neighbourhood, solve it, keep what is better; again and again."""
        around = Neighbourhoods(self.model, random.Random(seed))
        while not self._over():
            with self._lock:
                incumbent = self.found.values
            assert incumbent is not None
            name, free = around.choose(incumbent)
            self._say(f"improving: {name}")
            solver.restrict(held(self.model, incumbent, free))
            limits = self._limits(ROUND_NODES, gap_cents=LEAST_GAIN_CENTS)
            if self._timed:
                limits.seconds = min(limits.seconds, ROUND_SECONDS)
            result = solver.solve(limits, start=incumbent, stop=self._stop_improving)
            better = self._take(result.values, result.margin)
            around.learn(better, result.closed(LEAST_GAIN_CENTS))
            with self._lock:
                self.found.rounds += 1

    def _construct(self, start: Values | None) -> bool:
        """A first week from the menu given, else from a menu chosen day by day: quickly, or if
        that finds none, with more care."""
        if start is not None and self._take_menu(start, CAREFUL):
            return True
        for care in (QUICK, CAREFUL) if self._timed else (CAREFUL,):
            self._say("choosing a menu day by day")
            asked = self.model, self.effort.seed, care, self._limits, self._stop_improving
            menu = day_by_day(*asked, self._handed)
            if menu is not None and not self._over() and not self._take_menu(menu, care):
                self._mend(menu)
            if self.found.values is not None or self._over():
                break
        if self.found.values is None and not self._over():
            self._say("choosing a menu in one go")
            solver = Solver(self.model.lp, self.effort.seed, handed=self._handed)
            week = solver.solve(self._limits(None, gap_cents=math.inf), stop=self._stop_improving)
            self._conclude(week)
        return self.found.values is not None

    def _take_menu(self, menu: Values, care: Care) -> bool:
        """Give a menu its packs and pieces and keep the week if it is the best so far.

        The first week comes with the first packs that will do; then better ones.
        """
        self._say("packs and pieces for that menu")
        fixed = {j: (float(round(menu[j])),) * 2 for j in self.model.run_column.values()}
        self._improver.restrict(fixed)
        limits = self._limits(care.packs_nodes, care.packs_gap)
        if self.found.values is None:
            limits.solutions = 1
            self._take_week(limits, None)
            limits.solutions = None
        self._take_week(limits, self._same_menu(fixed))
        return self.found.values is not None

    def _mend(self, menu: Values) -> None:
        """No packs fit this menu under the hard rules: change it until some do."""
        self._say("mending that menu until its packs fit the rules")
        seconds_left = self._seconds_left if self._timed else lambda: math.inf
        values = week_of_menu(
            self.model, menu, self.effort.seed, seconds_left, self._stop_improving
        )
        if values is not None:
            self._take(values, self.model.lp.value(values))

    def _take_week(self, limits: Limits, start: Values | None) -> None:
        week = self._improver.solve(limits, start=start, stop=self._stop_improving)
        self._take(week.values, week.margin)

    def _same_menu(self, fixed: dict[int, tuple[float, float]]) -> Values | None:
        """The best week so far, if it has this menu."""
        best = self.found.values
        if best is None or any(round(best[j]) != low for j, (low, _) in fixed.items()):
            return None
        return best

    def _limits(self, nodes: int | None, gap: float = 0.0, gap_cents: float = 0.5) -> Limits:
        """Within the time left; with a work limit nothing depends on the clock."""
        seconds = math.inf if not self._timed else self._seconds_left()
        return Limits(seconds, nodes, gap_cents, gap)

    # -- bookkeeping ------------------------------------------------------

    def _take(self, values: Values | None, margin: float | None) -> bool:
        """Keep a week if it is better by a cent; tell the prover."""
        with self._lock:
            if values is None or margin is None or margin < self.found.margin + 1.0:
                return False
            self.found.values, self.found.margin = values, margin
        if self._timed:
            self._prover.offer(values)
        self._say(self._doing)
        return True

    def _tighten(self, bound: float) -> None:
        with self._lock:
            if bound > self.found.bound - 0.01:
                return
            if bound < self.found.bound - STALL_CENTS:
                self._bound_moved = time.monotonic()
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
        return self.found.bound - self.found.margin <= 1.0

    def _seconds_left(self) -> float:
        return max(0.1, self.effort.seconds - (time.monotonic() - self._started))

    def _over(self) -> bool:
        if self._stop.is_set():
            return True
        if self.effort.work is not None:
            return self.found.rounds >= self.effort.work
        out_of_time = time.monotonic() - self._started >= self.effort.seconds
        return self._done.is_set() or out_of_time
