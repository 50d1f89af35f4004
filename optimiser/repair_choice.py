"""What a repair is, and which of those found are worth telling."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimiser.elastic import GAP_PCT
from optimiser.plan import Plan
from optimiser.repair_words import Change
from optimiser.supports import MOST_RULES

Atom = tuple[int, str]
"""A part that gives, and its day or dish."""

Atoms = frozenset[Atom]

WORTHWHILE = 0.1
"""If one more rule gives it has to spare another by this fraction at least."""


@dataclass(frozen=True)
class Repair:
    """Changes after which `plan` is a week that keeps every rule: verified with the rules as
    they are then, its money what such a week makes.

    `given_up_pct` adds up which part of each rule is given up, 100 a whole rule;
    `least`: proven that no set of changes gives up less.
    """

    changes: tuple[Change, ...]
    given_up_pct: float
    least: bool
    plan: Plan

    def sentence(self) -> str:
        """All changes, each with its rule's title."""
        return "; ".join(f"{change.title}: {change.sentence}" for change in self.changes)

    def lines(self) -> list[str]:
        """The changes one by one, none put together with others."""
        return [
            f"{one.title}: {said}" for one in self.changes for said in one.each or (one.sentence,)
        ]

    @property
    def rules(self) -> frozenset[int | None]:
        """Which rules give, by their place in week.rules; None for places."""
        return frozenset(change.number for change in self.changes)


@dataclass(frozen=True)
class Found:
    """A repair, and how many percent each part of a rule gives up."""

    repair: Repair
    pct_of_part: Mapping[int, float]

    @property
    def pct(self) -> float:
        """What it gives up in all."""
        return self.repair.given_up_pct

    def asks_no_more(self, other: Found) -> bool:
        """Whether no part gives up more than in the other, or hardly more."""
        return all(
            pct * (1 - WORTHWHILE) <= other.pct_of_part.get(part, 0.0) + GAP_PCT
            for part, pct in self.pct_of_part.items()
        )


def chosen(found: Mapping[Atoms, Found], least_pct: float, want: int) -> tuple[Repair, ...]:
    """Repairs, cheapest first, without those that only add to another, none said twice.

    Of repairs by the same rules only the cheapest while enough others are known; those of many
    rules, or that spare little but are cheaper in all, only where too few others are. `least_pct`:
    proven that no repair gives up less.
    """
    told = _different(found, least_pct, want)
    more = _different(found, least_pct, want, cheaper_too=True) if len(told) < want else []
    told += [one for one in more if one not in told][: want - len(told)]
    return tuple(sorted(told, key=_order))


def _different(
    found: Mapping[Atoms, Found], least_pct: float, want: int, cheaper_too: bool = False
) -> list[Repair]:
    """Repairs that spare others something by what more they ask for; `cheaper_too`: or give up
    less in all."""
    said: dict[str, Repair] = {}
    for atoms, this in sorted(found.items(), key=lambda f: _order(f[1].repair)):
        fewer = [other for less, other in found.items() if less < atoms]
        if cheaper_too:
            fewer = [other for other in fewer if other.pct <= this.pct]
        if not any(other.asks_no_more(this) for other in fewer):
            least = this.repair.given_up_pct <= least_pct
            said.setdefault(this.repair.sentence(), replace(this.repair, least=least))
    few = [one for one in said.values() if len(one.rules) <= MOST_RULES]
    first: dict[frozenset[int | None], Repair] = {}
    for one in few or said.values():
        first.setdefault(one.rules, one)
    different = list(first.values())
    again = [one for one in few or said.values() if one not in different]
    return [*different, *again[: max(0, want - len(different))]]


def _order(repair: Repair) -> tuple[float, float, str]:
    """Cheapest first; of as cheap ones first that which earns more, whatever was found first."""
    return round(repair.given_up_pct / GAP_PCT), -repair.plan.objective_cents, repair.sentence()
