"""`plan`: read, search, verify, write, print. Nothing is written but a verified plan."""

from __future__ import annotations

import sys
import threading
from dataclasses import dataclass
from datetime import date, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError
from rich.console import Console

from optimiser.background import stop_on_interrupt
from optimiser.cafe import Cafe
from optimiser.formats import use_locale
from optimiser.places import Held, keep_plan, read_place
from optimiser.plan import Plan, read_plan
from optimiser.plan_changes import Asked, read_changes
from optimiser.report_base import day_text
from optimiser.reports import file_names, files
from optimiser.rules import default_rules
from optimiser.rules.pins import KeepDay
from optimiser.sheets import SheetFault
from optimiser.store_faults import StoreFault
from optimiser.tables import Reading
from optimiser.verify import ask_rules
from optimiser.week import Week, default_start
from optimiser.week_board import print_week
from optimiser.write_out import refuse_unwritable, write_out

if TYPE_CHECKING:
    from optimiser.planner import Outcome
    from optimiser.progress import Report

DONE, NO_PLAN, BAD_INPUT, IMPOSSIBLE = 0, 1, 2, 3
DEFAULT_DAYS = 7


class BadInput(Exception):
    """Something the person gave cannot be used; the message says what, and the mend."""


@dataclass(frozen=True)
class PlanRequest:
    """What `plan` was asked. None: not said. `folder`: or a store. `today` and `at`:
    when it is planned."""

    folder: str
    out: Path
    week: date | None = None
    days: int | None = None
    today: date | None = None
    at: time | None = None
    seconds: float = 30.0
    work: int | None = None
    seed: int = 0
    earlier: Path | None = None
    change_at_most: int | None = None
    keep_days: tuple[date, ...] = ()
    changes: tuple[Asked, ...] = ()


def plan_command(request: PlanRequest) -> int:
    """Plan as asked; the exit code. Raises TableFaults, StoreFault, BadInput,
    KeyboardInterrupt."""
    held = read_place(request.folder)
    reading = held.reading
    use_locale(reading.cafe.locale)
    earlier = None if request.earlier is None else read_earlier(request.earlier)
    try:
        changed = read_changes(week_asked(request, reading, earlier), request.changes)
    except ValueError as error:
        raise BadInput(str(error)) from error
    out = request.out.resolve()
    try:
        refuse_unwritable(out, file_names())
    except OSError as error:
        raise BadInput(f"--out {request.out}: {error}; name another directory") from error
    if reading.notes:
        count = len(reading.notes)
        print(f"{count} notes on what was taken by default: see `check`.", file=sys.stderr)
    week = changed.week
    print("".join(f"As if: {sentence}\n" for sentence in changed.told), end="", flush=True)
    outcome, stopped = _search(request, week, earlier)
    if outcome.infeasible:
        return _impossible(request, week)
    if outcome.plan is None:
        return _no_plan(outcome, stopped)
    written = _hand_over(request, week, outcome.plan, out)
    return max(written, _keep(request, held, outcome.plan, bool(changed.changes)))


def read_earlier(path: Path) -> Plan:
    """The plan of --from. Raises BadInput."""
    try:
        return read_plan(path)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise BadInput(
            f"--from {path}: not a plan: {place}: {first['msg']}; make it again with `plan`"
        ) from error
    except (ValueError, RecursionError) as error:
        raise BadInput(f"--from {path}: {error}") from error


def week_asked(request: PlanRequest, reading: Reading, earlier: Plan | None) -> Week:
    """The week asked for, else the earlier plan's, else the cafe's, else the next."""
    cafe = reading.cafe
    asked = request.week or (earlier.week if earlier else None)
    start = asked or default_start(cafe, request.today or date.today())
    days = request.days or (earlier.days if earlier else DEFAULT_DAYS)
    if earlier is not None and earlier.week != start:
        raise BadInput(
            f"--from {request.earlier}: a plan of the week from {day_text(earlier.week)}, "
            f"not from {day_text(start)}; leave --week out or give a plan of that week"
        )
    planned_on = request.today or start - timedelta(days=cafe.plan_ahead_days)
    try:
        week = Week(
            cafe=cafe,
            rules=(*default_rules(cafe, reading.rules), *_kept_days(request, cafe, earlier)),
            start=start,
            planned_on=planned_on,
            days=days,
            planned_at=request.at,
        )
    except ValueError as error:
        raise BadInput(f"the week from {day_text(start)}: {error}; change --week or --days") from (
            error
        )
    if late := [day for day in request.keep_days if day not in week.open_dates]:
        raise BadInput(f"--keep-day {late[0]}: no open day of the week planned; give more --days")
    return week


def _kept_days(request: PlanRequest, cafe: Cafe, earlier: Plan | None) -> list[KeepDay]:
    """A hard rule for each day whose cabinet is to stay as it was in the earlier plan."""
    rules: list[KeepDay] = []
    if earlier is None:
        return rules
    for day in request.keep_days:
        dishes = tuple(dict.fromkeys(earlier.dishes_on(day)))
        if not dishes:
            days = ", ".join(sorted({str(row.date) for row in earlier.shown})) or "none"
            raise BadInput(
                f"--keep-day {day}: {request.earlier} shows nothing that day; its days are {days}"
            )
        rule = KeepDay(day=day, dishes=dishes)
        if faults := rule.faults(cafe):
            raise BadInput(f"--keep-day {day}: {faults[0]}; leave that day out or mend the tables")
        rules.append(rule)
    return rules


def _search(request: PlanRequest, week: Week, earlier: Plan | None) -> tuple[Outcome, bool]:
    """The outcome, and whether the person stopped the search."""
    from optimiser.planner import plan_week  # loads the solver: not for a faulty folder
    from optimiser.search import Effort
    from optimiser.watched import Said, watched

    effort = Effort(seconds=request.seconds, work=request.work, seed=request.seed)
    stop = threading.Event()
    days = f"{day_text(week.open_dates[0])} to {day_text(week.last)}"
    said = Said(
        f"Planning {days}, orders from {day_text(week.planned_on)}.",
        "Stopping: the best week so far is kept. Ctrl-C again gives up.",
    )

    def work(report: Report) -> Outcome:
        return plan_week(week, effort, report, stop, earlier, request.change_at_most)

    with stop_on_interrupt(stop):
        outcome = watched(work, stop, week.cafe.currency, said)
    return outcome, stop.is_set()


def _impossible(request: PlanRequest, week: Week) -> int:
    """Print which rules conflict and what would mend it."""
    if request.change_at_most is not None:
        print(
            f"No week that keeps your rules changes at most {request.change_at_most} cooks of "
            f"{request.earlier}. Allow more with --change-at-most, or plan without --from to "
            "see whether the rules can hold at all."
        )
        return IMPOSSIBLE
    from optimiser.explain import conflict
    from optimiser.watched import Said, watched

    stop = threading.Event()
    said = Said(
        "The rules cannot all hold: looking for those that conflict.",
        "Stopping: what was found so far is told. Ctrl-C again gives up.",
    )
    with stop_on_interrupt(stop):
        found = watched(
            lambda report: conflict(week, request.seconds, report, stop),
            stop,
            week.cafe.currency,
            said,
        )
    print("\n".join(found.sentences()), flush=True)
    return IMPOSSIBLE


def _no_plan(outcome: Outcome, stopped: bool) -> int:
    """Say why there is no plan."""
    if outcome.rejected:
        print("The verifier turned the plan down; nothing was written:", file=sys.stderr)
        for breach in outcome.rejected:
            print(f"  {breach.rule}: {breach.text}", file=sys.stderr)
    elif stopped:
        print("Stopped before a first week was found; nothing was written.", file=sys.stderr)
    else:
        more = "give it more --seconds (or --work)"
        print(f"No week was found in the time given; {more}.", file=sys.stderr)
    return NO_PLAN


def _hand_over(request: PlanRequest, week: Week, plan: Plan, out: Path) -> int:
    """Write the plan, then print it; if it cannot be written, it is still printed."""
    failure = None
    priced = ask_rules(plan, week).priced
    try:
        write_out(out, files(plan, week.cafe, priced, request.change_at_most))
    except (OSError, SheetFault) as error:
        failure = f"--out {request.out}: {error}; this week was not written"
    console = Console()
    with console.capture() as printed:
        print_week(console, plan, week.cafe, priced, request.change_at_most)
    print(printed.get(), flush=True)
    if failure is not None:
        print(failure, file=sys.stderr)
        return BAD_INPUT
    print(f"Written to {out}: {', '.join(file_names())}", flush=True)
    return DONE


def _keep(request: PlanRequest, held: Held, plan: Plan, as_if: bool) -> int:
    """Add the plan to the store its tables came from, if they came from one."""
    if held.revision is None:
        return DONE
    if as_if:  # a plan of other tables than the revision's
        print("Not kept in the store: it is a plan as if.", flush=True)
        return DONE
    try:
        number = keep_plan(request.folder, plan, held.revision)
    except StoreFault as fault:
        print(f"The plan was not kept: {fault}", file=sys.stderr)
        return BAD_INPUT
    print(f"Kept in the store as plan {number}, of revision {held.revision}.", flush=True)
    return DONE
