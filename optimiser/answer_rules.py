"""Answers about rules: whether they can hold together, and what each costs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from optimiser.answer import Answer, Grid, bar, cents, csv_row
from optimiser.cafe import COMPONENT
from optimiser.explain import Conflict
from optimiser.repair_choice import Repair
from optimiser.report_base import Row, money_text
from optimiser.week import Week

if TYPE_CHECKING:
    from optimiser.rule_prices import RulePrice

CONFLICT, RULE, RANKING, ASK = "conflict", "rule", "rules", "can_ask"


def conflict_answer(found: Conflict, week: Week) -> Answer:
    """Whether the rules can hold together; else which cannot and what would mend it."""
    currency = week.cafe.currency
    return Answer(
        question=CONFLICT,
        about="",
        title="Can the rules hold together?",
        lines=tuple(found.sentences()),
        data=conflict_data(found),
        rows=tuple(conflict_rows(found)),
        grids=(_repairs_grid(found.repairs, currency),) if found.repairs else (),
        complete=found.holds is not None,
        impossible=found.holds is False,
    )


def _repairs_grid(repairs: Sequence[Repair], currency: str) -> Grid:
    rows = tuple(
        (str(number), money_text(one.plan.objective_cents, currency))
        for number, one in enumerate(repairs, 1)
    )
    return Grid("A week found so, checked, earns", ("change", "at least"), rows)


def conflict_data(found: Conflict) -> dict[str, Any]:
    """In JSON; rules are numbered from 1."""
    return {
        "holds": found.holds,
        "proven": found.proven,
        "always": found.always,
        "facts": list(found.facts),
        "rules": [
            {
                "rule": part.number + 1,
                "kind": part.kind,
                "title": part.title,
                "sentence": part.sentence,
                "days": [day.isoformat() for day in part.days],
            }
            for part in found.rules
        ],
        "repairs": [
            {
                "sentence": one.sentence(),
                "given_up_pct": round(one.given_up_pct, 2),
                "least": one.least,
                "objective_cents": one.plan.objective_cents,
                "changes": [
                    {
                        "rule": None if change.number is None else change.number + 1,
                        "kind": change.kind,
                        "title": change.title,
                        "sentence": change.sentence,
                        "each": list(change.each),
                        "days": [day.isoformat() for day in change.days],
                    }
                    for change in one.changes
                ],
            }
            for one in found.repairs
        ],
        "tried": list(found.tried),
    }


def conflict_rows(found: Conflict) -> list[Row]:
    """In the CSV."""
    holds = {True: "yes", False: "no", None: "not known"}[found.holds]
    rows = [csv_row(CONFLICT, "", "holds", note=holds)]
    rows += [csv_row(CONFLICT, "", "fact", note=fact) for fact in found.facts]
    for part in found.rules:
        days = part.days or (None,)
        rows += [
            csv_row(CONFLICT, str(part.number + 1), "rule", date=day, id=part.kind,
                    name=part.title, note=part.sentence)
            for day in days
        ]  # fmt: skip
    for number, one in enumerate(found.repairs, 1):
        rows.append(
            csv_row(CONFLICT, f"repair_{number}", "repair", amount=round(one.given_up_pct, 2),
                    unit="% of a rule given up", cents=one.plan.objective_cents,
                    note=one.sentence())
        )  # fmt: skip
    return rows


def can_ask_answer(week: Week, folder: str) -> Answer:
    """How each question is asked, and the rules by number."""
    cafe = week.cafe
    sold = [dish for dish in cafe.dishes.values() if dish.course != COMPONENT]
    rules = [(str(n), rule.kind, rule.describe(cafe)) for n, rule in enumerate(week.rules, 1)]
    example = sold[0].id if sold else "DISH"
    ways = (
        (f"--why {example}", "what the week would lose without a dish of the plan"),
        (f"--why-not {example}", "what having it would cost, and what is in its way"),
        (f"--swap {example} --on DAY", "what could stand in its place"),
        ("--rule 1, --rules", "what a rule costs the week"),
        ("--other-weeks 3", "weeks nearly as good, as different as can be"),
    )
    return Answer(
        question=ASK,
        about="",
        title="What can be asked",
        lines=(f"Dishes are named by id or name; {len(sold)} are in dishes.csv.",),
        data={
            "dishes": [{"dish": dish.id, "name": dish.name} for dish in sold],
            "rules": [
                {"rule": n, "kind": rule.kind, "title": rule.title, "sentence": rule.describe(cafe)}
                for n, rule in enumerate(week.rules, 1)
            ],
        },
        rows=tuple(
            [csv_row(ASK, "", "dish", id=dish.id, name=dish.name) for dish in sold]
            + [csv_row(ASK, number, "rule", id=kind, note=text) for number, kind, text in rules]
        ),
        grids=(
            Grid(f"explain {folder} ...", ("option", "says"), ways, words=(0, 1)),
            Grid("Rules", ("rule", "kind", "says"), tuple(rules), words=(1, 2)),
        ),
    )


def rule_answer(found: RulePrice, kind: str) -> Answer:
    """What the week would gain without one rule, as a range where it is not exact."""
    number = str(found.number + 1)
    return Answer(
        question=RULE,
        about=number,
        title=f"Rule {number}: {found.title}",
        lines=(found.sentence,),
        data={
            "rule": found.number + 1,
            "kind": kind,
            "title": found.title,
            "low_cents": cents(found.low_cents),
            "high_cents": cents(found.high_cents),
            "exact": found.exact,
            "sentence": found.sentence,
        },
        rows=(
            csv_row(RULE, number, "price", id=kind, name=found.title, cents=found.low_cents,
                    cents_at_most=found.high_cents, note=found.sentence),
        ),
    )  # fmt: skip


def ranking_answer(found: Sequence[RulePrice], currency: str) -> Answer:
    """Rules by what they cost at least, then at most."""
    order = sorted(found, key=lambda one: (-one.low_cents, -one.high_cents, one.number))
    most = max((one.low_cents for one in order), default=0.0)
    rows = tuple(
        (
            str(one.number + 1),
            one.title,
            money_text(one.low_cents, currency),
            bar(one.low_cents, most),
            "not proven" if math.isinf(one.high_cents) else money_text(one.high_cents, currency),
        )
        for one in order
    )
    columns = ("rule", "title", "costs at least", "", "at most")
    return Answer(
        question=RANKING,
        about="",
        title="Rules by what they cost",
        lines=(),
        data={"order": [one.number + 1 for one in order]},
        grids=(Grid("Dearest first", columns, rows, words=(1,), bars=(3,)),),
    )
