"""The command line: `optimiser check FOLDER`, `plan`, `whatif` and `explain FOLDER`,
`store FILE ...`, `app`.

FOLDER may also be the file of a store or the URL of a database.

Exit codes: 0 done (plan: a plan that the verifier passed; whatif, explain: all answered);
1 no plan or answer in the time or effort given, or a plan that the verifier turned down;
2 bad input, every fault on stderr; 3 the rules cannot all hold; 130 interrupted before there
was anything to keep.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from optimiser import arguments
from optimiser.app_command import add_app_verb, app_command
from optimiser.ask_options import (
    add_explain_options,
    add_whatif_options,
    explain_verb,
    whatif_verb,
)
from optimiser.folder_out import OutFault
from optimiser.places import read_place
from optimiser.plan_changes import add_change_options
from optimiser.plan_command import BadInput, PlanRequest, plan_command
from optimiser.rules import Rule
from optimiser.rules.words import plain
from optimiser.store_command import add_store_verb, store_command
from optimiser.store_faults import StoreFault
from optimiser.tables import Reading, TableFaults
from optimiser.week import MAX_DAYS

BAD_INPUT, INTERRUPTED = 2, 130
MOST_ROUNDS = 1_000_000
MOST_SEED = 2**31 - 1
FOLDER_HELP = "the cafe's folder of tables, or the file or URL of a store"


def run() -> None:
    """Entry of the process. Exits with the code of `main`."""
    _keep_stdout_to_ourselves()
    code = main()
    sys.stderr.flush()
    if code == INTERRUPTED:
        os._exit(code)  # a solver may still be at work in a thread
    sys.exit(code)


def main(argv: Sequence[str] | None = None) -> int:
    """Do what the arguments say; the exit code. Usage errors raise SystemExit(2)."""
    parser = _parser()
    args = parser.parse_args(argv)
    try:
        if args.verb == "check":
            return check_command(args.folder)
        if args.verb == "store":
            return store_command(args)
        if args.verb == "app":
            return app_command(args)
        if args.verb == "whatif":
            return whatif_verb(args)
        if args.verb == "explain":
            return explain_verb(args)
        if args.change_at_most is not None and args.earlier is None:
            parser.error("--change-at-most needs --from PLAN.json: the plan to stay close to")
        if args.keep_day and args.earlier is None:
            parser.error("--keep-day needs --from PLAN.json: the plan whose day is kept")
        return plan_command(_request(args))
    except TableFaults as found:
        for fault in found.faults:
            print(fault, file=sys.stderr)
        return BAD_INPUT
    except (BadInput, StoreFault, OutFault) as problem:
        print(problem, file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:  # whoever read our output has seen enough
        sys.stdout = open(os.devnull, "w")
        return 0
    except KeyboardInterrupt:
        return INTERRUPTED


def check_command(place: str) -> int:
    """Read a folder or store and say what was read and what was defaulted.

    Raises TableFaults and StoreFault.
    """
    reading = read_place(place).reading
    print("\n".join(_what_was_read(reading)), flush=True)
    return 0


def _what_was_read(reading: Reading) -> list[str]:
    cafe = reading.cafe
    counts = {
        "ingredients": len(cafe.ingredients),
        "suppliers": len(cafe.suppliers),
        "offers": len(cafe.offers),
        "dishes": len(cafe.dishes),
        "stock lots": len(cafe.stock),
        "days of guests": len(cafe.covers),
        "days of history": len({served.day for served in cafe.history}),
        "rules": len(reading.rules),
    }
    lines = [f"{cafe.name}: no faults.", "Read: "]
    lines[1] += ", ".join(f"{number} {what}" for what, number in counts.items()) + "."
    if reading.rules:
        lines += ["Rules:"] + [f"  {rule.describe(cafe)}{_price(rule)}" for rule in reading.rules]
    lines.append("Taken by default:" if reading.notes else "Nothing was taken by default.")
    return lines + [f"  {note}" for note in reading.notes]


def _price(rule: Rule) -> str:
    """What a breach costs, for rules that may be broken at a price."""
    if rule.price_cents is None:
        return ""
    return f" (may be broken for {plain(rule.price_cents)} cents per {rule.unit})"


def _request(args: argparse.Namespace) -> PlanRequest:
    today, at = args.today or (None, None)
    return PlanRequest(
        folder=args.folder,
        out=Path(args.out),
        week=args.week,
        days=args.days,
        today=today,
        at=at,
        seconds=args.seconds,
        work=args.work,
        seed=args.seed,
        earlier=None if args.earlier is None else Path(args.earlier),
        change_at_most=args.change_at_most,
        keep_days=tuple(sorted(set(args.keep_day))),
        changes=tuple(args.changes),
    )


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="optimiser",
        allow_abbrev=False,
        description="Choose a plant-based cafe's week of cabinet dishes.",
    )
    verbs = parser.add_subparsers(
        dest="verb", required=True, metavar="check|plan|whatif|explain|store|app"
    )
    check = verbs.add_parser(
        "check", allow_abbrev=False, help="list every fault of a cafe folder, or what was read"
    )
    check.add_argument("folder", metavar="FOLDER", help=FOLDER_HELP)
    plan = verbs.add_parser(
        "plan",
        allow_abbrev=False,
        help="plan a week, print it and write it",
        description="Ctrl-C keeps the best week found so far; a second one gives up.",
    )
    plan.add_argument("folder", metavar="FOLDER", help=FOLDER_HELP)
    _add_plan_options(plan)
    whatif = verbs.add_parser(
        "whatif",
        allow_abbrev=False,
        help="ask what another price, stock, delivery, guests or minutes would mean",
    )
    whatif.add_argument("folder", metavar="FOLDER", help=FOLDER_HELP)
    add_whatif_options(whatif)
    explain = verbs.add_parser(
        "explain",
        allow_abbrev=False,
        help="ask why, why not, what rules cost, and whether they can hold together",
    )
    explain.add_argument("folder", metavar="FOLDER", help=FOLDER_HELP)
    add_explain_options(explain)
    store = verbs.add_parser(
        "store", allow_abbrev=False, help="keep the tables in a store, with their history"
    )
    add_store_verb(store)
    app = verbs.add_parser("app", allow_abbrev=False, help="open the page in a browser")
    add_app_verb(app)
    return parser


def _add_plan_options(plan: argparse.ArgumentParser) -> None:
    add = plan.add_argument
    add("--week", metavar="YYYY-MM-DD", type=arguments.day, help="first day of the week to plan")
    add(
        "--days",
        metavar="N",
        type=arguments.whole(1, MAX_DAYS),
        help="days to plan (7; 28 at most)",
    )
    add("--today", metavar="YYYY-MM-DD[THH:MM]", type=arguments.moment,
        help="when the plan is made and orders go out "
        "(plan_ahead_days of cafe.toml before the week)")  # fmt: skip
    add("--seconds", metavar="N", type=arguments.seconds, default=30.0,
        help="how long to search (30)")  # fmt: skip
    add("--work", metavar="N", type=arguments.whole(1, MOST_ROUNDS),
        help="search so many rounds, whatever the time: same seed, same plan")  # fmt: skip
    add(
        "--seed",
        metavar="N",
        type=arguments.whole(0, MOST_SEED),
        default=0,
        help="of the search (0)",
    )
    add("--out", metavar="DIR", default="plan_out", help="where to write it (plan_out)")
    add("--from", metavar="PLAN.json", dest="earlier", help="start from an earlier plan's week")
    add("--change-at-most", metavar="K", type=arguments.whole(0, 100_000),
        help="with --from: at most so many of its cooks may go or move")  # fmt: skip
    add("--keep-day", metavar="YYYY-MM-DD", type=arguments.day, action="append", default=[],
        help="with --from: keep that day's dishes; may be given for several days")  # fmt: skip
    add_change_options(add)


def _keep_stdout_to_ourselves() -> None:
    """Send what libraries print by themselves to nowhere, and keep stdout for us.

    HiGHS prints a banner through C once per process, and C holds it back until the
    process ends: so file descriptor 1 stays shut for good, and Python's own stdout
    goes on through a copy of it.
    """
    if sys.stdout is None:
        return
    sys.stdout.flush()
    ours = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.close(nowhere)
    sys.stdout = open(ours, "w", encoding=sys.stdout.encoding, errors="replace")
