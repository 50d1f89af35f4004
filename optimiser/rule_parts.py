"""The hard rules of a week, with one limit each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from optimiser.rules.base import Rule


@dataclass(frozen=True)
class Part:
    """A hard rule, or one limit of it. `number` is the rule's place in week.rules."""

    number: int
    rule: Rule


def hard_parts(rules: Iterable[Rule]) -> tuple[Part, ...]:
    """Hard rules, limit by limit."""
    return tuple(
        Part(number, one)
        for number, rule in enumerate(rules)
        if rule.price_cents is None
        for one in rule.parts()
    )
