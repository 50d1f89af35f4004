"""What is in the house on a day, as sums of columns: for rules about shelf and fridge."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from optimiser.cafe import Form, State
from optimiser.lp import Terms, scaled
from optimiser.week import is_dry

if TYPE_CHECKING:
    from optimiser.model import Model

Sum = tuple[Terms, float]


def unfinished_g(model: Model, item: str, day: date) -> Sum:
    """Grams of a whole ingredient cut or opened up to `day`, less what cooks took of them."""
    size = model.cafe.ingredients[item].piece_g or 0.0
    cut: Terms = [
        (column, size) for (cut_item, _, on), column in model.cuts.items()
        if cut_item == item and on <= day
    ]  # fmt: skip
    opened = sum(
        lot.grams
        for lot in model.week.usable_stock
        if lot.item == item and lot.state is State.OPENED
    )
    return cut + _taken(model, item, day), opened


def on_hand_g(model: Model, item: str, day: date) -> Sum:
    """Grams in stock, delivered or cooked as a part up to `day`, less what cooks took.

    Raises ValueError for dry goods: they are bought by the gram, not by the pack.
    """
    come: Terms = []
    ingredient = model.cafe.ingredients.get(item)
    if ingredient is None:
        portion_g = model.cafe.dishes[item].portion_g
        days = [on for on in model.week.open_dates if on <= day]
        come = [term for on in days for term in model.batches(item, on, 0.0, portion_g)]
    elif is_dry(ingredient):
        raise ValueError(f"{item} is bought by the gram; what is on hand depends on its packs")
    else:
        whole = ingredient.form is Form.WHOLE
        bought = model.bought_pieces(item) if whole else model.bought_g(item)
        size = (ingredient.piece_g or 0.0) if whole else 1.0
        come = [term for on, terms in bought.items() if on <= day for term in scaled(terms, size)]
    stock = sum(lot.grams for lot in model.week.usable_stock if lot.item == item)
    return come + _taken(model, item, day), stock


def _taken(model: Model, item: str, day: date) -> Terms:
    """Minus what cooks up to `day` take of an item."""
    return [
        term
        for (cook_day, _), terms in model.needs.get(item, {}).items()
        if cook_day <= day
        for term in scaled(terms, -1.0)
    ]
