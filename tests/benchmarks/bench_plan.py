"""How soon a plan comes, how good it is, and how good it is proven to be.

    python -m tests.benchmarks.bench_plan [--cafes sample,70,150,300] [--seconds 60]
                                          [--out FILE.json] [--no-highs]
    python -m tests.benchmarks.bench_plan --long 1800 [--cafes ...]

For each cafe our search and, on the very same model, HiGHS alone: once with one
thread, once with as many as it likes. Each runs in a process of its own, one after
the other. Seconds count from the start of building the model (HiGHS alone: from when
it has the model in memory). `gap` is what any plan could earn more at most, in money
and in percent of the week's spend on food: portions made for sale at recipe cost.
`behind` compares with the best plan ever found, kept in best_known.json. Only
--long writes that file, when it finds something better or the cafe has changed.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

BEST_KNOWN = Path(__file__).parent / "best_known.json"
ROOT = Path(__file__).parent.parent.parent
MARKS_S = (10.0, 30.0, 60.0)
THREADS = {"HiGHS alone, 1 thread": 1, "HiGHS alone, default threads": 0}
OURS = "this search"


def main() -> None:
    args = _arguments()
    console = Console(width=110)
    best_known = json.loads(BEST_KNOWN.read_text()) if BEST_KNOWN.exists() else {}
    results = {}
    for name in args.cafes.split(","):
        results[name] = measure(name, args.long or args.seconds, not (args.no_highs or args.long))
        print_cafe(console, name, results[name], best_known.get(name))
        if args.long and improve(best_known, name, results[name], args.long):
            BEST_KNOWN.write_text(json.dumps(best_known, indent=1, sort_keys=True) + "\n")
            console.print(f"{BEST_KNOWN.name}: a new best for {name}")
    if args.out:
        body = {"machine": machine(), "date": str(date.today()), "cafes": results}
        args.out.write_text(json.dumps(body, indent=1) + "\n")


def measure(name: str, seconds: float, with_highs: bool) -> dict[str, Any]:
    """Results by planner: our search, then HiGHS alone on the model that it wrote."""
    with tempfile.TemporaryDirectory() as folder:
        model_file, result = Path(folder) / "week.mps", Path(folder) / "result.json"
        results = {OURS: _run(result, "plan", name, seconds, result, model_file)}
        if with_highs:
            constant = results[OURS]["constant"]
            for planner, threads in THREADS.items():
                args = ("highs", model_file, seconds, result, constant, threads)
                results[planner] = _run(result, *args)
    return results


def _run(result: Path, *args: object) -> Any:
    """One measurement. What HiGHS prints by itself goes nowhere."""
    command = [sys.executable, "-m", "tests.benchmarks.measure", *map(str, args)]
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return json.loads(result.read_text())


def at(trace: Iterable[list[Any]], seconds: float) -> tuple[float | None, float | None]:
    """Best margin and bound known after so many seconds."""
    best, bound = None, None
    for moment, best_then, bound_then in trace:
        if moment > seconds:
            break
        best, bound = best_then, bound_then
    return best, bound


def improve(best_known: dict[str, Any], name: str, results: dict[str, Any], seconds: float) -> bool:
    """Take up a verified plan that is better than the one known, or a tighter bound."""
    ours = results[OURS]
    plan, old = ours["plan"], comparable(best_known.get(name), ours)
    if plan is None or not plan["verified"]:
        return False
    better = old is None or plan["objective_cents"] > old["value_cents"]
    bounds = [one["bound_cents"] for one in (plan, old) if one and one["bound_cents"] is not None]
    bound = min(bounds, default=None)
    if old is not None and not better:
        changed = bound != old["bound_cents"]
        old["bound_cents"] = bound
        return changed
    best_known[name] = {
        "value_cents": plan["objective_cents"],
        "bound_cents": bound,
        "date": str(date.today()),
        "seconds": seconds,
        "command": f"python -m tests.benchmarks.bench_plan --long {seconds:g} --cafes {name}",
        "fingerprint": ours["fingerprint"],
    }
    return True


def comparable(known: dict[str, Any] | None, ours: dict[str, Any]) -> dict[str, Any] | None:
    """The best known, if it is of this very cafe, its rules and its dates."""
    return known if known and known["fingerprint"] == ours["fingerprint"] else None


def print_cafe(
    console: Console, name: str, results: dict[str, Any], known: dict[str, Any] | None
) -> None:
    """Facts of one cafe, then a table: planners down, moments across."""
    ours = results[OURS]
    plan = ours["plan"]
    spend = plan["spend_cents"] if plan else None
    best = comparable(known, ours)
    console.rule(f"cafe {name}")
    console.print("\n".join(facts(ours, best, known)))
    table = Table("planner", "after", "best", "behind", "gap", "gap % of spend", "memory")
    for column in table.columns[1:]:
        column.justify = "right"
    for planner, result in results.items():
        for seconds in moments(result):
            value, bound = at(result["trace"], seconds)
            gap = None if value is None or bound is None else bound - value
            behind = None if best is None or value is None else best["value_cents"] - value
            pct = "-" if gap is None or not spend else f"{100 * gap / spend:.2f} %"
            after, memory = f"{seconds:g} s", f"{result['peak_mb']:.0f} MB"
            table.add_row(planner, after, money(value), money(behind), money(gap), pct, memory)
        table.add_section()
    console.print(table)


def facts(
    ours: dict[str, Any], best: dict[str, Any] | None, known: dict[str, Any] | None
) -> list[str]:
    """What was measured apart from values over time."""
    plan = ours["plan"]
    first = ours["first_plan_s"]
    lines = [
        f"{ours['dishes']} dishes, {ours['ingredients']} ingredients; {ours['cook_runs']} cook "
        f"runs, {ours['columns']} columns, {ours['rows']} rows; load before {ours['load_before']}",
        f"facts {ours['reading_s']:.2f} s, model {ours['building_s']:.2f} s, first verified plan "
        + ("never" if first is None else f"after {first:.1f} s")
        + f", {ours['rounds']} rounds, ended after {ours['ended_s']:.1f} s",
    ]
    if plan is None:
        lines.append("no plan" + (": proven impossible" if ours["infeasible"] else ""))
    else:
        passed = "verified" if plan["verified"] else "TURNED DOWN by the verifier"
        lines.append(f"spend on food {money(plan['spend_cents'])}; last plan {passed}")
    if best is not None:
        lines.append(
            f"best known {money(best['value_cents'])} ({best['seconds']:g} s on {best['date']}), "
            f"proven to be within {money(best['bound_cents'] - best['value_cents'])} of any plan"
        )
    elif known is not None:
        lines.append("best known: of an earlier state of this cafe, so not compared")
    return lines


def moments(result: dict[str, Any]) -> list[float]:
    """The marks that the run reached, and its end if that is another moment."""
    end = round(result["ended_s"], 1)
    reached = [mark for mark in MARKS_S if mark <= end]
    return reached if reached and end - reached[-1] < 2 else [*reached, end]


def money(cents: float | None) -> str:
    """Two places; a dash for unknown."""
    return "-" if cents is None else f"{cents / 100:,.2f}"


def machine() -> dict[str, Any]:
    """What times depend on; no names."""
    packages = {name: version(name) for name in ("pulp", "highspy")}
    return {"cores": os.cpu_count(), "python": platform.python_version(), **packages}


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="bench_plan", allow_abbrev=False)
    add = parser.add_argument
    add("--cafes", default="sample,70,150,300", help="sample, or numbers of dishes")
    add("--seconds", type=float, default=60.0, help="for each planner (60)")
    add("--out", type=Path, metavar="FILE.json", help="write all that was measured")
    add("--no-highs", action="store_true", help="leave out HiGHS alone")
    add("--long", type=float, metavar="SECONDS", help="search long for the best known")
    return parser.parse_args()


if __name__ == "__main__":
    main()
