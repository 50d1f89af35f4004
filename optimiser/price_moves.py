"""Prices that a person moves on the page: what, and by how many percent."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from optimiser.cafe import Cafe
from optimiser.change_prices import Of, PriceChange
from optimiser.plan import Plan

Target = tuple[Of, str]
"""What moves: (ingredient, group or supplier, its id), or ("all", "")."""

EVERYTHING: Target = ("all", "")


def bought_first(cafe: Cafe, plan: Plan) -> list[str]:
    """Ingredients that somebody sells: those of the plan by what is spent, then all others."""
    spent: dict[str, int] = {}
    for buy in plan.buys:
        spent[buy.ingredient] = spent.get(buy.ingredient, 0) + buy.cost_cents
    sold = [item for item in cafe.ingredients if cafe.offers_of.get(item)]
    return sorted(sold, key=lambda item: (-spent.get(item, 0), cafe.name_of(item)))


def targets(cafe: Cafe) -> list[Target]:
    """All that can move: everything, suppliers, groups, single ingredients."""
    groups = sorted({one.group for one in cafe.ingredients.values()} - {""})
    sold = {offer.supplier for offer in cafe.offers}
    items = sorted((one for one in cafe.ingredients if cafe.offers_of.get(one)), key=cafe.name_of)
    found: list[Target] = [EVERYTHING]
    found += [("supplier", one) for one in cafe.suppliers if one in sold]
    found += [("group", one) for one in groups if _sells(cafe, one)]
    found += [("ingredient", one) for one in items]
    return found


def _sells(cafe: Cafe, group: str) -> bool:
    return any(cafe.ingredients[offer.ingredient].group == group for offer in cafe.offers)


def target_words(cafe: Cafe, target: Target) -> str:
    """`Butternut`, `Supplier: Marrowby Produce`, `Group: squash`, `Everything`."""
    of, name = target
    if of == "all":
        return "Everything that is bought"
    if of == "supplier":
        return f"Supplier: {cafe.suppliers[name].name}"
    if of == "group":
        return f"Group: {name.replace('_', ' ')}"
    return cafe.name_of(name)


def changes_of(moves: Mapping[Target, float], from_date: date | None) -> tuple[PriceChange, ...]:
    """The moves as changes; those by nothing are none."""
    return tuple(
        PriceChange(of=of, name=name, pct=float(pct), from_date=from_date)
        for (of, name), pct in moves.items()
        if pct
    )
