"""What stands in the way of having a dish: rules, found by taking each away alone, and larder."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from optimiser.blame import broken_rules, double, of_rule, short_of
from optimiser.blocks import Blocks
from optimiser.exchanges import Exchange
from optimiser.nearby import Nearby

NOT_ENOUGH = "not enough"
"""Stands before the names of what there is too little of."""


@dataclass(frozen=True)
class Obstacle:
    """A rule in a dish's way. `gain_cents`: with this rule alone out of the way, the best that
    one changed cook with the dish brings (ties between deliveries left out); None: others stand
    in the way as well."""

    title: str
    gain_cents: float | None

    @property
    def alone(self) -> bool:
        """Whether this rule alone keeps some way of having the dish out."""
        return self.gain_cents is not None


class InTheWay:
    """Asks one neighbourhood again and again, with one rule or another taken away."""

    def __init__(self, near: Nearby) -> None:
        self._near = near
        self._waived: dict[int, Blocks] = {}

    def rules(self, exchange: Exchange) -> set[int]:
        """Places in week.rules of those that an exchange breaks."""
        return broken_rules(self._near.blocks, self._near.changes_of(exchange))

    def words(self, exchange: Exchange) -> list[str]:
        """Titles of rules, and what else there is, that stand in an exchange's way."""
        near, changes = self._near, self._near.changes_of(exchange)
        titles = sorted({near.week.rules[rule].title for rule in self.rules(exchange)})
        facts = double(near.blocks, changes)
        if not facts:
            short = sorted(near.week.cafe.name_of(item) for item in short_of(near.blocks, changes))
            facts = [f"{NOT_ENOUGH} {', '.join(short)}"] if short else []
        return [*titles, *facts] or ["kitchen or larder"]

    def gain_without(self, exchange: Exchange, rule: int) -> float | None:
        """Cents that an exchange brings with a rule taken away; None: it cannot be even so."""
        near = self._near
        if rule not in self._waived:
            self._waived[rule] = near.blocks.waiving(of_rule(rule))
        blocks = self._waived[rule]
        gain = blocks.gain(near.changes_of(exchange), near.loose_of(exchange))
        return None if gain is None else blocks.margin + gain - near.blocks.margin


def rule_obstacles(near: Nearby, ways: Sequence[Exchange]) -> list[Obstacle]:
    """Rules in the way of one change, what taking each away alone would bring, best first."""
    asked = InTheWay(near)
    blamed = [(way, asked.rules(way)) for way in ways]
    best: dict[str, float | None] = {}
    for rule in sorted(set().union(*(rules for _, rules in blamed))):
        hit = [way for way, rules in blamed if rule in rules]
        gains = [gain for way in hit if (gain := asked.gain_without(way, rule)) is not None]
        title = near.week.rules[rule].title
        if best.get(title) is not None:
            gains.append(best[title] or 0.0)
        best[title] = max(gains, default=None)
    found = [Obstacle(title, gain) for title, gain in best.items()]
    return sorted(found, key=lambda one: (one.gain_cents is None, -(one.gain_cents or 0.0)))


def obstacles(near: Nearby, choices: Iterable[Exchange]) -> list[str]:
    """What stands in the way of the choice that meets least: titles of rules, what is short."""
    asked = InTheWay(near)
    found = [asked.words(exchange) for exchange in choices]
    return min(found, key=len, default=[])
