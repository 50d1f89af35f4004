"""One measurement in a process of its own: our search, or HiGHS alone on the same model.

    python -m tests.benchmarks.measure plan CAFE SECONDS RESULT.json MODEL.mps
    python -m tests.benchmarks.measure highs MODEL.mps SECONDS RESULT.json CONSTANT THREADS

CAFE is `sample` or a number of dishes. THREADS 0 leaves HiGHS its default: that is why
each runs alone, since HiGHS cannot change its threads within a process.
A trace is a list of [seconds, best margin or null, bound or null], money in cents.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import resource
import sys
import threading
import time
from datetime import timedelta
from pathlib import Path
from typing import Any

import highspy

from optimiser.costs import Costs
from optimiser.finish import finished
from optimiser.lp import to_highs
from optimiser.model import Model
from optimiser.plan import Plan
from optimiser.polish import polished
from optimiser.progress import Progress
from optimiser.rules import default_rules
from optimiser.search import Effort, Search
from optimiser.tables import read_folder
from optimiser.verify import verify
from optimiser.week import Week
from tests.benchmarks.generated_cafe import generated_week

SAMPLE = Path(__file__).parent.parent.parent / "sample_data"
GAP_CENTS = 0.5
Trace = list[tuple[float, float | None, float | None]]


class FirstPlan:
    """Makes and verifies a plan as soon as the search has one; `seconds` when it passed."""

    def __init__(self, started: float) -> None:
        self.seconds: float | None = None
        self.search: Search | None = None
        self._started = started
        self._busy = threading.Lock()

    def report(self, progress: Progress) -> None:
        """Called by the search from both of its threads."""
        if self.seconds is not None or progress.best_cents is None or self.search is None:
            return
        if self._busy.acquire(blocking=False):
            values = self.search.found.values
            if values is not None and self.seconds is None:
                plan = finished(self.search.model, values)
                if verify(plan, self.search.model.week).passed:
                    self.seconds = time.monotonic() - self._started
            self._busy.release()


def measure_plan(name: str, seconds: float, model_file: Path) -> dict[str, Any]:
    """Build, search for so long (building included), verify; write the model for others."""
    begun = time.monotonic()
    week = named_week(name)
    started = time.monotonic()
    first = FirstPlan(started)
    model = Model(week)
    building_s = time.monotonic() - started
    effort = Effort(max(1.0, seconds - building_s))
    search = Search(model, effort, first.report, polish=polished)
    first.search = search
    found = search.run()
    ended_s = time.monotonic() - started
    history = [(building_s + p.seconds, p.best_cents, p.bound_cents) for p in found.history]
    measured: dict[str, Any] = {
        "reading_s": started - begun,
        "building_s": building_s,
        "first_plan_s": first.seconds,
        "ended_s": ended_s,
        "rounds": found.rounds,
        "infeasible": found.infeasible,
        "trace": changes([*history, (ended_s, *_known(found.margin, found.bound))]),
        "plan": None,
        "fingerprint": fingerprint(week),
        "dishes": len(week.cafe.dishes),
        "ingredients": len(week.cafe.ingredients),
        "cook_runs": len(model.runs),
        "columns": len(model.lp.names),
        "rows": len(model.lp.rows),
        "constant": model.lp.constant,
    }
    if found.values is not None:
        plan = finished(model, found.values, found.bound)
        measured["plan"] = {
            "verified": verify(plan, week).passed,
            "objective_cents": plan.objective_cents,
            "bound_cents": plan.bound_cents,
            "spend_cents": spend_cents(plan, week),
        }
    measured["peak_mb"] = peak_mb()
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.passModel(to_highs(model.lp).model)
    solver.writeModel(str(model_file))
    return measured


def measure_highs(
    model_file: Path, seconds: float, constant: float, threads: int
) -> dict[str, Any]:
    """HiGHS as it comes, on the written model (minus the margin, without its constant)."""
    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    highs.readModel(str(model_file))
    highs.setOptionValue("threads", threads)
    highs.setOptionValue("time_limit", seconds)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", GAP_CENTS)
    history: Trace = []
    started = time.monotonic()

    def note(_kind: Any, _text: str, out: Any, _in: Any, _user: Any) -> None:
        margin, bound = constant - out.mip_primal_bound, constant - out.mip_dual_bound
        history.append((time.monotonic() - started, *_known(margin, bound)))

    highs.setCallback(note, None)
    highs.startCallback(highspy.cb.HighsCallbackType.kCallbackMipInterrupt)
    highs.run()
    ended_s = time.monotonic() - started
    info = highs.getInfo()
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    margin = constant - info.objective_function_value if found else -math.inf
    last = (ended_s, *_known(margin, constant - info.mip_dual_bound))
    return {"ended_s": ended_s, "trace": changes([*history, last]), "peak_mb": peak_mb()}


def named_week(name: str) -> Week:
    """The sample's week, or that of an invented cafe with so many dishes."""
    if name != "sample":
        return generated_week(int(name))
    reading = read_folder(SAMPLE)
    cafe = reading.cafe
    if cafe.week is None:
        raise ValueError("the sample's cafe.toml names no week")
    planned_on = cafe.week - timedelta(days=cafe.plan_ahead_days)
    return Week(cafe, default_rules(cafe, reading.rules), cafe.week, planned_on)


def spend_cents(plan: Plan, week: Week) -> float:
    """The week's spend on food: portions made for sale, each at its recipe's cost."""
    costs = Costs(week.cafe, week.planned_on)
    return sum(row.portions * costs.portion_cents(row.dish) for row in plan.shown)


def fingerprint(week: Week) -> str:
    """Changes with any fact, rule or date: margins of other problems do not compare."""
    facts = [week.cafe.model_dump(), [rule.model_dump() for rule in week.rules]]
    dates = [week.start, week.planned_on, week.planned_at, week.days]
    body = json.dumps(_plain([facts, dates]), sort_keys=True)
    return hashlib.sha256(body.encode()).hexdigest()[:16]


def _plain(value: Any) -> Any:
    """As text, lists and dicts; sets in order, since they come out in any."""
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, set | frozenset):
        return sorted(str(one) for one in value)
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return str(value)


def changes(history: Trace) -> Trace:
    """The entries that tell something new, in order of time."""
    kept: Trace = []
    for entry in sorted(history, key=lambda entry: entry[0]):
        if not kept or entry[1:] != kept[-1][1:]:
            kept.append(entry)
    return kept


def _known(margin: float, bound: float) -> tuple[float | None, float | None]:
    """None for what the solver does not know yet (infinite, or its stand-in for it)."""
    return (margin if abs(margin) < 1e15 else None, bound if abs(bound) < 1e15 else None)


def peak_mb() -> float:
    """The most memory this process has held."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3


def main() -> None:
    what, source, seconds, result, *more = sys.argv[1:]
    load_before = os.getloadavg()[0]
    if what == "plan":
        measured = measure_plan(source, float(seconds), Path(more[0]))
    else:
        measured = measure_highs(Path(source), float(seconds), float(more[0]), int(more[1]))
    Path(result).write_text(json.dumps(measured | {"load_before": load_before}))


if __name__ == "__main__":
    main()
