"""Gains and losses of a week in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

from optimiser.report_base import money_text
from optimiser.steps import Step

SAME_CENTS = 0.5


def gain_words(cents: float, currency: str, earns: str = "earns", costs: str = "costs") -> str:
    """`costs $4.20`, `earns $4.20 more` or `changes nothing`."""
    if abs(cents) < SAME_CENTS:
        return "changes nothing"
    money = money_text(abs(cents), currency)
    return f"{costs} {money}" if cents < 0 else f"{earns} {money} more"


def step_words(step: Step, currency: str) -> str:
    """What a step does to the margin; if it is not proven, how much better there may be."""
    words = gain_words(step.gain_cents, currency)
    if step.exact:
        return words
    if math.isinf(step.at_most_cents):
        return f"{words}; better ones were not ruled out"
    open_cents = money_text(step.at_most_cents - step.gain_cents, currency)
    return f"{words}; at most {open_cents} better"


def exactness(steps: Sequence[Step | None]) -> str:
    """Within what answers are exact, and that beyond it they are only bounded."""
    there = [step for step in steps if step is not None]
    exact = [step for step in there if step.exact]
    if not there:
        return ""
    if not exact:
        return f"Not proven to the cent: {there[-1].within()}."
    beyond = "" if exact[-1] is there[-1] else " With more changes only as far as it says."
    return f"Exact {exact[-1].within()}.{beyond}"
