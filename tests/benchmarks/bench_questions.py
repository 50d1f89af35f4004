"""How long each question about a plan takes.

    python -m tests.benchmarks.bench_questions [--times 1] [--seconds 30] [--plan PLAN.json]
                                               [--only WORD] [--out FILE.json]

The sample cafe, one plan of its week (made first, for --seconds, unless given), one process.
`first` counts everything from the tables and the plan at hand: building the week's model too,
with nothing remembered. `again` asks once more of what was built and asked, as a page does. The
ratio is of `first` to the same run's baseline: building the model and choosing packs for the plan's
own menu, nothing changed. --seconds also bounds each step of several changed cooks: where a step
ran into it, the note says that its answer is a range. Each row is also told as it comes.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

from optimiser.changes import apply_all, parse_minutes, parse_price
from optimiser.explain import conflict
from optimiser.nearby import Nearby
from optimiser.plan import Plan, read_plan
from optimiser.planner import plan_week
from optimiser.price_lines import breakpoints
from optimiser.search import Effort
from optimiser.steps import Step
from optimiser.swaps import swap_costs
from optimiser.week import Week
from optimiser.what_if import compare
from optimiser.why_not import why_not
from tests.benchmarks.bench_plan import machine
from tests.benchmarks.measure import named_week

INGREDIENT, RISE = "butternut", "butternut=+30%"
SHORT_MINUTES = (("hob@all=120",), ("oven@all=20", "hob@all=60"), ("hands_on@fri=600",))
"""Minutes a little and much too few for the mains, the grains and the soup of a day; a Friday."""

STRICT_RULES = (
    ("plate_protein", {"worst_g": 40.0}),
    ("food_cost_pct", {"pct": 22.0}),
    ("purchase_budget", {"budget_cents": 150_000}),
    ("colours_daily", {"colours": 9}),
)
"""Rules of the sample that ask too much."""

CONFLICT_S = 20.0

BASELINE = "the plan's menu alone"
AIMS_S = {1: 1.0, 2: 5.0, 3: 20.0}
"""By how many cooks may change."""

Ask = Callable[[Nearby | None], str]
"""A question, of what was built before or of nothing; what is to be said of its answer."""


@dataclass(frozen=True)
class Question:
    """`again`: whether it can be asked of what was built before."""

    name: str
    ask: Ask
    aim_s: float | None = None
    again: bool = True


@dataclass(frozen=True)
class Timed:
    """Seconds of every time a question was asked, and what was said last."""

    name: str
    first_s: tuple[float, ...]
    again_s: tuple[float, ...]
    aim_s: float | None
    note: str


def main() -> None:
    args = _arguments()
    week = named_week("sample")
    plan = read_plan(args.plan) if args.plan else _planned(week, args.seconds)
    load = os.getloadavg()[0]
    asked = [one for one in questions(week, plan, args.seconds) if args.only in one.name]
    baseline = Question(BASELINE, lambda near: _kept(near or Nearby(week, plan)))
    timed = []
    for one in (baseline, *asked):
        timed.append(measure(one, week, plan, args.times))
        print("; ".join(rows([timed[0], timed[-1]])[1]), file=sys.stderr, flush=True)
    print_table(Console(width=120), timed, load)
    if args.out:
        body = {"machine": machine(), "date": str(date.today()), "load_before": load}
        body["plan_cents"] = plan.objective_cents
        args.out.write_text(json.dumps(body | {"questions": [asdict(t) for t in timed]}, indent=1))


def questions(week: Week, plan: Plan, seconds: float) -> list[Question]:
    """Everything that is asked."""
    changes = [parse_price(RISE, week)]
    absent = absent_dish(week, plan)
    cook = next(cook for cook in plan.cooks if cook.shown)

    def changed(cooks: int) -> Ask:
        def ask(near: Nearby | None) -> str:
            found = compare(week, plan, changes, cooks, seconds, near=near)
            return _steps_note([*found.steps_before, *found.steps])

        return ask

    def missing(cooks: int) -> Ask:
        def ask(near: Nearby | None) -> str:
            found = why_not(week, plan, absent, None, cooks, seconds, near=near)
            return _steps_note(found.steps)

        return ask

    def swaps(near: Nearby | None) -> str:
        found = swap_costs(week, plan, cook.dish, cook.date, near=near)
        return f"{sum(one.gain_cents is not None for one in found)} of {len(found)} possible"

    def corners(near: Nearby | None) -> str:
        found = breakpoints(week, plan, INGREDIENT, near=near)
        return f"{len(found.pieces)} pieces from {found.low:g} to {found.high:g} times today's"

    asked = [
        Question(f"what if {RISE}, {_cooks(cooks)}", changed(cooks), aim)
        for cooks, aim in AIMS_S.items()
    ]
    asked += [
        Question(f"why not {absent}, {_cooks(cooks)}", missing(cooks), aim)
        for cooks, aim in AIMS_S.items()
    ]
    asked.append(Question(f"swaps of {cook.dish}", swaps))
    asked.append(Question(f"breakpoints of {INGREDIENT}", corners, 60.0))
    asked += [
        Question(f"conflict and repairs, {name}", lambda near, week=week: _conflict_note(week),
                 CONFLICT_S, again=False)
        for name, week in impossible_weeks(week)
    ]  # fmt: skip
    return asked


def impossible_weeks(week: Week) -> list[tuple[str, Week]]:
    """What is asked too much, and the week with it."""
    found = []
    for texts in SHORT_MINUTES:
        changed = apply_all(week, [parse_minutes(text, week) for text in texts])
        found.append((" and ".join(texts), changed))
    for kind, ask in STRICT_RULES:
        rules = tuple(r.model_copy(update=ask) if r.kind == kind else r for r in week.rules)
        (name, value), *_ = ask.items()
        found.append((f"{name}={value:g}", replace(week, rules=rules)))
    return found


def measure(question: Question, week: Week, plan: Plan, times: int) -> Timed:
    """Ask so many times of nothing, and each time once more of a week built and asked before."""
    first, again = [], []
    note = ""
    for _ in range(times):
        seconds, note = clocked(lambda: question.ask(None))
        first.append(seconds)
        if question.again:
            near = Nearby(week, plan)
            question.ask(near)
            again.append(clocked(lambda near=near: question.ask(near))[0])
    return Timed(question.name, tuple(first), tuple(again), question.aim_s, note)


def clocked(ask: Callable[[], str]) -> tuple[float, str]:
    """Seconds that it took, and what it said."""
    started = time.monotonic()
    note = ask()
    return time.monotonic() - started, note


def absent_dish(week: Week, plan: Plan) -> str:
    """The first dish for sale, by id, that the plan does not show and no rule bars."""
    shown = {row.dish for row in plan.shown}
    barred = {getattr(rule, "dish", None) for rule in week.rules if rule.kind == "bar"}
    sold = [dish.id for dish in week.cafe.dishes.values() if dish.course in week.cafe.courses]
    return min(dish for dish in sold if dish not in shown | barred)


def rows(timed: Sequence[Timed]) -> list[tuple[str, ...]]:
    """Name, aim, first, again, ratio to the first row, whether the aim was met, note."""
    baseline = statistics.median(timed[0].first_s)
    found = []
    for one in timed:
        first = statistics.median(one.first_s)
        again = f"{statistics.median(one.again_s):.2f} s" if one.again_s else "-"
        aim = "-" if one.aim_s is None else f"{one.aim_s:g} s"
        met = "-" if one.aim_s is None else "yes" if first <= one.aim_s else "no"
        ratio = f"{first / baseline:.1f}"
        found.append((one.name, aim, f"{first:.2f} s", again, ratio, met, one.note))
    return found


def print_table(console: Console, timed: Sequence[Timed], load: float) -> None:
    """One row a question."""
    console.print(f"medians; load before {load:.1f}; ratio to `{timed[0].name}`")
    table = Table("question", "aim", "first", "again", "ratio", "met", "answer")
    for column in table.columns[1:5]:
        column.justify = "right"
    for row in rows(timed):
        table.add_row(*row)
    console.print(table)


def _planned(week: Week, seconds: float) -> Plan:
    plan = plan_week(week, Effort(seconds)).plan
    if plan is None:
        raise SystemExit("no plan of the sample in the time given; give it more --seconds")
    return plan


def _kept(near: Nearby) -> str:
    assert near.kept is not None
    return f"margin {near.kept.margin_cents / 100:,.2f}"


def _steps_note(steps: Sequence[Step | None]) -> str:
    """How many of the steps there are, and how many of them are proven."""
    there = [step for step in steps if step is not None]
    proven = sum(step.exact for step in there)
    most = max((step.gain_cents for step in there), default=0.0)
    return f"{proven} of {len(there)} steps exact, best {most / 100:+,.2f}"


def _conflict_note(week: Week) -> str:
    found = conflict(week, CONFLICT_S)
    repairs = f"{len(found.repairs)} repairs"
    if found.repairs:
        repairs += f", the first of {found.repairs[0].given_up_pct:.1f} % of a rule"
    if found.holds is not False:
        return f"no rules named; {repairs}" if found.holds is None else "the rules hold"
    proven = "proven" if found.proven else "not proven"
    return f"{len(found.rules)} rules, {proven}; {repairs}"


def _cooks(cooks: int) -> str:
    return "1 change" if cooks == 1 else f"{cooks} changes"


def _arguments() -> Any:
    parser = argparse.ArgumentParser(prog="bench_questions", allow_abbrev=False)
    add = parser.add_argument
    add("--times", type=int, default=1, help="how often each question is asked (1)")
    add("--seconds", type=float, default=30.0, help="to plan, and for each step (30)")
    add("--plan", type=Path, metavar="PLAN.json", help="the plan to ask of")
    add("--only", default="", metavar="WORD", help="only questions with this word")
    add("--out", type=Path, metavar="FILE.json", help="write all that was measured")
    return parser.parse_args()


if __name__ == "__main__":
    main()
