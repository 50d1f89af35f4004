"""The verbs `whatif` and `explain`: their options, and what these come to."""

from __future__ import annotations

import argparse
from pathlib import Path

from optimiser import arguments
from optimiser.asking import Asking, Handing
from optimiser.plan_changes import add_change_options

FORMS = ("text", "json", "csv")
MOST_COOKS = 4
MOST_WEEKS = 20
RULE_SECONDS, WITHIN_CENTS = 20.0, 2500


def add_whatif_options(verb: argparse.ArgumentParser) -> None:
    """Declare what `whatif` takes besides the place."""
    add_change_options(verb.add_argument)
    add = verb.add_argument
    add("--cooks", metavar="K", type=arguments.whole(0, MOST_COOKS), default=2,
        help="cooks of the plan that may change (2)")  # fmt: skip
    add("--breakpoints", metavar="INGREDIENT", action="append", default=[],
        help="at which of its prices the best menu changes; several may be given")  # fmt: skip
    add("--worth", metavar="LOT", action="append", default=[],
        help="what each unit of a surplus is worth, as pumpkin=12kg,use-by 2026-12-03")  # fmt: skip
    add("--exposure", action="store_true", help="which prices the week depends on most")
    _add_common(verb)


def add_explain_options(verb: argparse.ArgumentParser) -> None:
    """Declare what `explain` takes besides the place."""
    add = verb.add_argument
    add("--why", metavar="DISH", action="append", default=[],
        help="what the week would lose without a dish of the plan")  # fmt: skip
    add("--why-not", metavar="DISH", action="append", default=[],
        help="what having a dish would cost, and what is in its way")  # fmt: skip
    add("--swap", metavar="DISH", action="append", default=[],
        help="what could stand in the place of a dish, and at what cost")  # fmt: skip
    add("--on", metavar="DAY", help="the date or weekday of --why-not and --swap")
    add("--rule", metavar="RULE", action="append", default=[],
        help="what a rule costs: its number (`explain` alone lists them) or its kind")  # fmt: skip
    add("--rules", action="store_true", help="what each rule costs")
    add("--each", metavar="N", type=arguments.seconds, default=RULE_SECONDS,
        help=f"seconds for the price of a rule ({RULE_SECONDS:g})")  # fmt: skip
    add("--other-weeks", metavar="N", type=arguments.whole(0, MOST_WEEKS), default=0,
        help="so many weeks nearly as good, as different as can be")  # fmt: skip
    add("--within", metavar="MONEY", type=arguments.money, default=WITHIN_CENTS,
        help=f"how much less these may earn ({WITHIN_CENTS / 100:.2f})")  # fmt: skip
    _add_common(verb)


def _add_common(verb: argparse.ArgumentParser) -> None:
    add = verb.add_argument
    add("--from", metavar="PLAN.json", dest="earlier",
        help="the plan asked about; else the newest the store keeps, else a new one")  # fmt: skip
    add("--week", metavar="YYYY-MM-DD", type=arguments.day, help="first day of the week")
    add("--today", metavar="YYYY-MM-DD[THH:MM]", type=arguments.moment,
        help="when orders go out (as the plan has it, else plan_ahead_days before)")  # fmt: skip
    add("--seconds", metavar="N", type=arguments.seconds, default=30.0,
        help="how long to plan, and how long for each step of several changes (30)")  # fmt: skip
    add("--form", choices=FORMS, default="text", help="how the answers are written (text)")
    add("--out", metavar="FILE", help="write the answers there")
    add("--plans", metavar="DIR", help="write the weeks of the answers there, each as a plan")


def whatif_verb(args: argparse.Namespace) -> int:
    """What `whatif` does with its arguments; the exit code."""
    from optimiser.whatif_command import WhatIf, whatif_command

    asked = WhatIf(
        asking=_asking(args),
        changes=tuple(args.changes),
        cooks=args.cooks,
        breakpoints=tuple(args.breakpoints),
        exposure=args.exposure,
        worth=tuple(args.worth),
    )
    return whatif_command(asked, _handing(args))


def explain_verb(args: argparse.Namespace) -> int:
    """What `explain` does with its arguments; the exit code."""
    from optimiser.explain_command import Explain, explain_command

    asked = Explain(
        asking=_asking(args),
        why=tuple(args.why),
        why_not=tuple(args.why_not),
        swap=tuple(args.swap),
        on=args.on,
        rules=tuple(args.rule),
        all_rules=args.rules,
        each_seconds=args.each,
        other_weeks=args.other_weeks,
        within_cents=args.within,
    )
    return explain_command(asked, _handing(args))


def _asking(args: argparse.Namespace) -> Asking:
    today, at = args.today or (None, None)
    return Asking(
        folder=args.folder,
        earlier=None if args.earlier is None else Path(args.earlier),
        week=args.week,
        today=today,
        at=at,
        seconds=args.seconds,
    )


def _handing(args: argparse.Namespace) -> Handing:
    return Handing(
        form=args.form,
        out=None if args.out is None else Path(args.out),
        plans=None if args.plans is None else Path(args.plans),
    )
