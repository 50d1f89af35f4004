"""An independent judgement of a finished week.

`verify` believes nothing a plan says about itself: it reads the rows, replays
the week in the kitchen, counts the money again and asks every rule. It shares
no code with the model that makes plans, so a mistake there shows up here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from optimiser.board import board_breaches
from optimiser.ground import Ground
from optimiser.plan import TERMS, Breach, Plan, RuleResult
from optimiser.recount import Recount
from optimiser.replay import Replay
from optimiser.week import Week
from optimiser.wellformed import malformed, unconnected

ROUNDING_CENTS = 20
"""What rounding against the plan may put between an optimal plan and its bound."""


@dataclass(frozen=True)
class Verdict:
    """What became of a check.

    breaches: all that makes the plan invalid, broken hard rules included.
    priced: broken rules that have a price; the plan stays valid.
    terms_cents: the money terms counted again; empty if the rows make no sense.
    rule_results: each rule of the week, in order; empty likewise.
    out_of_order: where a lot was used before an older one. For information.
    """

    breaches: tuple[Breach, ...]
    priced: tuple[Breach, ...] = ()
    terms_cents: dict[str, int] = field(default_factory=dict)
    rule_results: tuple[RuleResult, ...] = ()
    out_of_order: tuple[Breach, ...] = ()

    @property
    def passed(self) -> bool:
        """Whether the plan can be cooked, sold and believed."""
        return not self.breaches


def verify(plan: Plan, week: Week) -> Verdict:
    """Judge `plan` as an answer to `week`. Never raises, whatever the plan holds."""
    ground = Ground(week)
    unreadable = malformed(plan, ground)
    if unreadable:
        return Verdict(tuple(unreadable))
    loose_ends = unconnected(plan, ground)
    breaches = [*loose_ends, *board_breaches(plan, ground)]
    if loose_ends:  # neither the replay nor the rules could follow the food
        return Verdict(tuple(breaches))
    replay = Replay(plan, ground).run()
    breaches += replay.breaches
    asked = ask_rules(plan, week)
    breaches += asked.broken
    recount = Recount(plan, ground, replay.shelf)
    breaches += recount.breaches()
    terms = recount.terms(asked.price_cents)
    breaches += _claims(plan, terms, asked.results)
    return Verdict(tuple(breaches), asked.priced, terms, asked.results, tuple(replay.out_of_order))


@dataclass(frozen=True)
class Answers:
    """What the rules of a week say about a plan."""

    broken: tuple[Breach, ...]
    priced: tuple[Breach, ...]
    price_cents: float
    results: tuple[RuleResult, ...]


def ask_rules(plan: Plan, week: Week) -> Answers:
    """Let every rule check the plan. Rules without a price are hard."""
    broken: list[Breach] = []
    priced: list[Breach] = []
    price_cents = 0.0
    results = []
    for rule in week.rules:
        found = rule.check(plan, week.cafe)
        over = sum(breach.amount for breach in found)
        if rule.price_cents is None:
            broken += found
        else:
            priced += found
            price_cents += rule.price_cents * over
        slack = -over if found else None
        results.append(RuleResult(kind=rule.kind, title=rule.title, holds=not found, slack=slack))
    return Answers(tuple(broken), tuple(priced), price_cents, tuple(results))


def _claims(plan: Plan, terms: dict[str, int], results: tuple[RuleResult, ...]) -> Iterator[Breach]:
    """What the plan says of itself: terms, objective, bound, status, rules."""
    for name in TERMS:
        said = plan.terms_cents[name]
        if said != terms[name]:
            text = f"{name} is given as {said} cents, counted again it is {terms[name]}"
            yield Breach(rule="money", text=text, amount=abs(said - terms[name]), item=name)
    objective, total = plan.objective_cents, sum(terms.values())
    if objective != total:
        text = f"objective_cents is {objective}, but the terms counted again add up to {total}"
        yield Breach(rule="money", text=text, amount=abs(objective - total))
    if plan.bound_cents is not None and plan.bound_cents < objective:
        text = f"bound_cents {plan.bound_cents} is below objective_cents {objective}"
        yield Breach(rule="money", text=text, amount=objective - plan.bound_cents)
    if plan.status not in ("optimal", "feasible"):
        text = f"status {plan.status!r} is neither 'optimal' nor 'feasible'"
        yield Breach(rule="plan", text=text)
    if plan.status == "optimal" and plan.bound_cents is None:
        yield Breach(rule="plan", text="status is 'optimal', but no bound_cents is given")
    if plan.status == "optimal" and (plan.bound_cents or 0) - objective > ROUNDING_CENTS:
        text = f"status is 'optimal', but bound_cents {plan.bound_cents} is well above {objective}"
        yield Breach(rule="plan", text=text)
    if len(plan.rules) != len(results):
        text = f"{len(plan.rules)} rules are reported on, this week has {len(results)}"
        yield Breach(rule="plan", text=text)
    for said_rule, found in zip(plan.rules, results, strict=False):
        if not _same_result(said_rule, found):
            text = (
                f"rule {said_rule.title!r} is reported as {_fares(said_rule)}, "
                f"checked again {found.title!r} is {_fares(found)}"
            )
            yield Breach(rule="plan", text=text, item=found.kind)


def _same_result(said: RuleResult, found: RuleResult) -> bool:
    if (said.kind, said.title, said.holds) != (found.kind, found.title, found.holds):
        return False
    if said.slack is None or found.slack is None:
        return said.slack is found.slack
    return math.isclose(said.slack, found.slack, rel_tol=1e-6, abs_tol=1e-6)


def _fares(result: RuleResult) -> str:
    holds = "kept" if result.holds else "broken"
    return holds if result.slack is None else f"{holds} with slack {result.slack:g}"
