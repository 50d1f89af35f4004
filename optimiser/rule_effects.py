"""What rules say about a week that is planned already, rule by rule, without a solve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimiser.ground import Ground
from optimiser.plan import Breach, Plan
from optimiser.present import same_days
from optimiser.rules import Rule
from optimiser.verify import ask_rules
from optimiser.week import Week
from optimiser.wellformed import malformed, unconnected


@dataclass(frozen=True)
class Effect:
    """One rule on one plan. `cents`: what its breaches cost; `faults`: why the rule does not
    fit the cafe, and could not be asked."""

    rule: Rule
    breaches: tuple[Breach, ...] = ()
    cents: float = 0.0
    faults: tuple[str, ...] = ()

    @property
    def kept(self) -> bool:
        """Whether the plan keeps the rule."""
        return not self.breaches and not self.faults

    @property
    def forbidden(self) -> bool:
        """Whether the plan breaks the rule and may not."""
        return bool(self.breaches) and self.rule.price_cents is None

    @property
    def over(self) -> float:
        """By how many of its units the rule is broken."""
        return sum(breach.amount for breach in self.breaches)


@dataclass(frozen=True)
class Effects:
    """All rules on one plan, in their order. `gone`: what the plan speaks of and the tables
    know no more; then no rule was asked."""

    each: tuple[Effect, ...] = ()
    gone: tuple[Breach, ...] = ()

    @property
    def broken(self) -> tuple[Effect, ...]:
        """Hard rules that the plan breaks."""
        return tuple(one for one in self.each if one.forbidden)

    @property
    def cents(self) -> float:
        """What all priced breaches cost together."""
        return sum(one.cents for one in self.each)


def effects_on(plan: Plan, week: Week, rules: Sequence[Rule]) -> Effects:
    """Ask `rules` about a plan of `week`, whose own rules do not count."""
    week = same_days(plan, week)
    ground = Ground(week)
    gone = malformed(plan, ground) or unconnected(plan, ground)
    if gone:
        return Effects(gone=tuple(gone))
    return Effects(tuple(effect_on(plan, week, rule) for rule in rules))


def effect_on(plan: Plan, week: Week, rule: Rule) -> Effect:
    """Ask one rule about a plan that names nothing unknown."""
    if faults := rule.faults(week.cafe):
        return Effect(rule, faults=tuple(faults))
    answer = ask_rules(plan, replace(week, rules=(rule,)))
    return Effect(rule, (*answer.broken, *answer.priced), answer.price_cents)
