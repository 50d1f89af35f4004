"""Writing prices down: one that a person types, or those of a what-if."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import streamlit as st

from optimiser.cafe import Cafe, Offer
from optimiser.change_base import apply_all
from optimiser.change_prices import PriceChange
from optimiser.price_edits import with_price, with_prices_of
from optimiser.price_history import offer_title
from optimiser.report_base import money_text
from optimiser.ui.at_hand import AtHand, said
from optimiser.ui.desk import Desk
from optimiser.ui.plain import plain_markdown
from optimiser.ui.wish_saved import keep

MOST_LISTED = 6


def write_price(desk: Desk, ingredient: str, today: date) -> None:
    """A new price of one offer, from a day on."""
    cafe = desk.cafe
    offers = list(cafe.offers_of.get(ingredient, ()))
    with st.popover("Write down a price"), st.form(f"write_{ingredient}", border=False):
        number: int = st.selectbox(
            "Offer",
            range(len(offers)),
            format_func=lambda one: _offer_words(cafe, offers[one], today),
            key=f"write_offer_{ingredient}",
        )
        price = st.text_input(
            f"Price of the pack, {cafe.currency}", key="write_cents", placeholder="4.20"
        )
        start: date | None = st.date_input("For orders from", value=today, key="write_from")
        pressed = st.form_submit_button("Save the price", type="primary")
    if pressed:
        offer, day = offers[number], "" if start is None else start.isoformat()
        document = with_price(desk.document, offer, price.strip(), day)
        what = f"{cafe.name_of(ingredient)}, {offer_title(cafe, offer)}"
        keep(desk, document, f"Price of {what}: {price.strip()} from {day or 'the first day'}")


def _offer_words(cafe: Cafe, offer: Offer, today: date) -> str:
    now = offer.price_cents_on(today)
    price = "no price yet" if now is None else money_text(now, cafe.currency)
    return f"{offer_title(cafe, offer)}: {price}"


def write_moves(view: AtHand, changes: Sequence[PriceChange]) -> None:
    """Planning with the prices of a what-if begins with writing them down."""
    with st.popover("Plan the week with these prices"):
        said("The week is planned with the prices in your tables. Write these down first:")
        try:
            after = apply_all(view.week, changes).cafe
        except ValueError as fault:
            st.error(plain_markdown(str(fault)))
            return
        rows = _rows(view, after)
        for line in rows[:MOST_LISTED]:
            said(line)
        if len(rows) > MOST_LISTED:
            said(f"and {len(rows) - MOST_LISTED} more")
        if st.button("Write them down", type="primary", key="write_moves"):
            told = [one.describe(view.desk.cafe, view.week.planned_on) for one in changes]
            document = with_prices_of(view.desk.document, view.week.cafe, after)
            keep(view.desk, document, "Prices: " + " ".join(told))


def _rows(view: AtHand, after: Cafe) -> list[str]:
    """Each offer whose price changes, as a sentence."""
    cafe, lines = view.week.cafe, []
    for old, new in zip(cafe.offers, after.offers, strict=True):
        known = {(one.from_date, one.price_cents) for one in old.prices}
        lines += [
            f"{cafe.name_of(new.ingredient)}, {offer_title(cafe, new)}: "
            f"{money_text(one.price_cents, cafe.currency)} from {one.from_date or 'the first day'}"
            for one in new.prices
            if (one.from_date, one.price_cents) not in known
        ]
    return lines
