"""Grams behind the rows of a plan, for the checks of several rules."""

from __future__ import annotations

from math import isclose

from optimiser.cafe import Cafe, Form
from optimiser.plan import Buy


def pack_g(buy: Buy, cafe: Cafe) -> float:
    """Grams in one pack of a purchase, whole pieces by their weight; 0 without such an offer."""
    ingredient = cafe.ingredients[buy.ingredient]
    for offer in cafe.offers_of.get(buy.ingredient, ()):
        same_pack = offer.pack_unit == buy.pack_unit and isclose(offer.pack_qty, buy.pack_qty)
        if same_pack and offer.supplier == buy.supplier:
            whole = ingredient.form is Form.WHOLE
            return offer.pieces * (ingredient.piece_g or 0.0) if whole else offer.pack_g
    return 0.0
