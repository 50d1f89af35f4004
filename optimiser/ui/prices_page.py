"""Prices: what things cost and have cost, and what the week would do at other prices."""

from __future__ import annotations

from html import escape
from pathlib import Path

import streamlit as st

from optimiser.change_prices import PriceChange
from optimiser.price_history import cheapest_now, unit_of
from optimiser.price_moves import bought_first
from optimiser.question_jobs import latest
from optimiser.questions import PricesMove, WhenItChanges
from optimiser.ui import ask, wish_saved
from optimiser.ui.at_hand import AtHand, at_hand
from optimiser.ui.desk import desk, undo_bar
from optimiser.ui.kept_state import kept, remember, restore
from optimiser.ui.look import empty
from optimiser.ui.money_words import gain_words
from optimiser.ui.plain import plain_markdown
from optimiser.ui.prices_compare import comparison
from optimiser.ui.prices_history import history
from optimiser.ui.prices_line import price_line
from optimiser.ui.prices_moves import moves
from optimiser.ui.prices_rank import ranking
from optimiser.ui.prices_write import write_moves, write_price

STYLE_FILE = Path(__file__).with_name("prices.css")
ONE, ALL = "One ingredient", "What depends on prices"
VIEW, INGREDIENT = "prices_view", "prices_ingredient"


def page() -> None:
    """Show the page."""
    st.html(STYLE_FILE)
    here = desk()
    st.title("Prices")
    wish_saved.note()
    view = at_hand(here)
    if view is None:
        return
    items = bought_first(here.cafe, view.plan)
    if not items:
        empty("Nobody sells anything yet", "Add offers to the ingredients on the page Dishes.")
        return
    restore(VIEW, ONE)
    shown = st.segmented_control("Show", [ONE, ALL], key=VIEW, label_visibility="collapsed")
    remember(VIEW, shown)
    ask.running(view)
    if shown == ALL:
        ranking(view)
    else:
        _one(view, items)
    undo_bar(here)


def _one(view: AtHand, items: list[str]) -> None:
    view.ground.warm()
    ingredient = _pick(view, items)
    _at_prices(view, ingredient)


def _pick(view: AtHand, items: list[str]) -> str:
    """The ingredient; after a reload that of the last question."""
    if not kept(INGREDIENT) and INGREDIENT not in st.session_state:
        asked = latest(view.spot, WhenItChanges, PricesMove)
        if isinstance(asked, WhenItChanges):
            remember(INGREDIENT, asked.ingredient)
        elif isinstance(asked, PricesMove):
            remember(INGREDIENT, asked.changes[0].name)
    restore(INGREDIENT, items[0])
    if st.session_state[INGREDIENT] not in items:
        st.session_state[INGREDIENT] = items[0]
    bought = {buy.ingredient for buy in view.plan.buys}
    cafe = view.desk.cafe

    def words(one: str) -> str:
        return cafe.name_of(one) + ("" if one in bought else " (not bought this week)")

    ingredient: str = st.selectbox("Ingredient", items, key=INGREDIENT, format_func=words)
    remember(INGREDIENT, ingredient)
    return ingredient


@st.fragment
def _at_prices(view: AtHand, ingredient: str) -> None:
    """Its history, sliders and what they cost at once; below, the answers that take longer."""
    left, right = st.columns(2, gap="medium")
    with left:
        history(view, ingredient)
        write_price(view.desk, ingredient, view.week.planned_on)
    with right:
        changes = _what_if(view, ingredient)
    found = ask.answer(view, PricesMove(changes)) if changes else None
    line = ask.answer(view, WhenItChanges(ingredient))
    sides = st.columns(2, gap="medium") if found and line else [st.container()] * 2
    if line is not None:
        with sides[0]:
            price_line(view, line, _pct(changes, ingredient))
    if found is not None:
        with sides[1]:
            comparison(view, found)


def _what_if(view: AtHand, ingredient: str) -> tuple[PriceChange, ...]:
    """Sliders, what keeping the menu costs then, and the longer questions."""
    unit, _ = unit_of(view.desk.cafe.ingredients[ingredient])
    now = cheapest_now(view.desk.cafe, ingredient, view.week.planned_on)
    changes = moves(view, ingredient, unit, now[1] if now else None)
    if changes:
        _at_once(view, changes)
    with st.container(horizontal=True):
        ask.ask_button(view, WhenItChanges(ingredient), "When does the menu change?")
        if changes:
            ask.ask_button(view, PricesMove(changes), "Keep the menu or change it?", primary=True)
            write_moves(view, changes)
    return changes


def _pct(changes: tuple[PriceChange, ...], ingredient: str) -> float:
    return next((one.pct or 0.0 for one in changes if one.name == ingredient), 0.0)


def _at_once(view: AtHand, changes: tuple[PriceChange, ...]) -> None:
    """What keeping the menu costs at these prices; no search is needed for that."""
    currency = view.desk.cafe.currency
    try:
        before, after = view.ground.kept(), view.ground.kept(changes)
    except ValueError as fault:
        st.warning(plain_markdown(str(fault)))
        return
    if before.margin_cents is None or after.margin_cents is None:
        st.warning(plain_markdown(f"The menu cannot be kept: {before.why_not or after.why_not}."))
        return
    words = gain_words(after.margin_cents - before.margin_cents, currency)
    st.html(
        f'<p class="loss" role="status">Keeping this menu <b>{escape(words)}</b> this week</p>'
        '<p class="within">Exact with this menu on the same days of delivery, packs chosen afresh.'
        "</p>"
    )
