"""What the rows of all items add to the objective, and what they share."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from optimiser.cover_rows import Cover, Need
from optimiser.lp import Terms, scaled

if TYPE_CHECKING:
    from optimiser.model import Model


@dataclass
class Ledger:
    """What the rows of all items add to the objective and tell the rules."""

    left: Terms = field(default_factory=list)
    left_constant: float = 0.0
    waste: Terms = field(default_factory=list)
    waste_constant: float = 0.0
    drawn: dict[str, Terms] = field(default_factory=dict)
    """Grams taken from each stock lot."""

    good: dict[str, tuple[Terms, float]] = field(default_factory=dict)
    """Grams of each ingredient still good after the week, opened pieces left out."""

    def keep(self, item: str, cents_per_g: float, terms: Terms, constant_g: float = 0.0) -> None:
        """Grams still good after the week."""
        old_terms, old_g = self.good.get(item, ([], 0.0))
        self.good[item] = (old_terms + terms, old_g + constant_g)
        self.left += scaled(terms, cents_per_g)
        self.left_constant += cents_per_g * constant_g

    def bin(self, cents_per_g: float, terms: Terms, constant_g: float = 0.0) -> None:
        """Grams thrown away."""
        self.waste += scaled(terms, cents_per_g)
        self.waste_constant += cents_per_g * constant_g


def far_day(model: Model, needs: dict[Need, Terms]) -> date:
    """What is good until this day outlives the week and every need: a raw part cooked
    late must stay good beyond the next open day."""
    return max([model.week.next_open, *(until for _, until in needs)])


def left_need(model: Model, cover: Cover) -> Terms:
    """What is still good after the week, written as a need on the next open day."""
    after = model.week.next_open
    left = [(model.lp.column(f"left__{cover.item}"), 1.0)]
    cover.left = (after, after)
    cover.need(cover.left, left)
    return left
