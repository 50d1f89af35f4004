"""The sliders of what-if: one ingredient, and whatever else is to move with it."""

from __future__ import annotations

from datetime import date

import streamlit as st

from optimiser.change_prices import PriceChange
from optimiser.price_moves import Target, changes_of, target_words, targets
from optimiser.questions import HIGH, LOW
from optimiser.report_base import money_text
from optimiser.ui.at_hand import AtHand
from optimiser.ui.kept_state import remember, restore
from optimiser.ui.plain import plain_markdown

ALSO, FROM = "prices_also", "prices_from"
STEP_PCT = 5
LEAST_PCT, MOST_PCT = round(LOW * 100) - 100, round(HIGH * 100) - 100


def moves(view: AtHand, ingredient: str, unit: str, cents: float | None) -> tuple[PriceChange, ...]:
    """The changes that the sliders stand for."""
    cafe = view.desk.cafe
    own: Target = ("ingredient", ingredient)
    pcts: dict[Target, float] = {own: _slider(view, own, unit, cents)}
    others = [one for one in targets(cafe) if one != own]
    restore(ALSO, [])
    st.session_state[ALSO] = [one for one in st.session_state[ALSO] if one in others]
    restore(FROM, None)
    with st.popover("Move other prices too"):
        also: list[Target] = st.multiselect(
            "What else moves",
            others,
            format_func=lambda one: target_words(cafe, one),
            key=ALSO,
            placeholder="Ingredients, groups, suppliers",
        )
        start: date | None = st.date_input(
            "For orders from (blank: from planning on)",
            key=FROM,
            min_value=view.week.planned_on,
            max_value=view.week.last,
        )
    remember(ALSO, also)
    remember(FROM, start)
    for one in also:
        pcts[one] = _slider(view, one)
    return changes_of(pcts, start)


def _slider(view: AtHand, target: Target, unit: str = "", cents: float | None = None) -> float:
    """Percent by which something moves."""
    key = f"prices_pct_{target[0]}_{target[1]}"
    restore(key, 0)
    name = target_words(view.desk.cafe, target)
    value: int = st.slider(
        f"What if {plain_markdown(name)} costs more or less, in percent",
        min_value=LEAST_PCT,
        max_value=MOST_PCT,
        step=STEP_PCT,
        format="%+d %%",
        key=key,
    )
    remember(key, value)
    if cents is not None and value:
        price = money_text(cents * (100 + value) / 100, view.desk.cafe.currency)
        st.caption(plain_markdown(f"that is {price} {'each' if unit == 'each' else f'a {unit}'}"))
    return float(value)
