"""What an ingredient has cost, as a sentence and a chart."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from html import escape

import altair as alt
import pandas as pd
import streamlit as st

from optimiser.exposure import usual_move_pct
from optimiser.formats import bare_day
from optimiser.price_history import (
    OfferHistory,
    cheapest_now,
    price_histories,
    span_until,
    unit_of,
)
from optimiser.report_base import money_text, number_text
from optimiser.ui.at_hand import AtHand

HEIGHT = 240
ROW = 22
YEAR = timedelta(days=365)
FEW_DAYS = 150
"""Up to so many days the axis of dates names days, not months."""


def history(view: AtHand, ingredient: str) -> None:
    """Today's price among those there were."""
    cafe, today = view.desk.cafe, view.week.planned_on
    unit, _ = unit_of(cafe.ingredients[ingredient])
    found = price_histories(cafe, ingredient, today)
    st.html(f'<p class="price-now">{_sentence(view, ingredient, found)}</p>')
    if any(len(one.points) > 2 for one in found):
        st.altair_chart(
            _chart(found, unit, cafe.currency, today - YEAR),
            height=HEIGHT + ROW * len(found),
            alt=f"Prices of {cafe.name_of(ingredient)} in {cafe.currency} by date of order, "
            f"{len(found)} offers, up to {bare_day(today)}",
        )


def _sentence(view: AtHand, ingredient: str, found: Sequence[OfferHistory]) -> str:
    cafe, today = view.desk.cafe, view.week.planned_on
    unit, _ = unit_of(cafe.ingredients[ingredient])
    now = cheapest_now(cafe, ingredient, today)
    if now is None:
        return escape("Nobody sells it on the day of planning.")
    offer, cents = now
    history = next(one for one in found if one.offer is offer)
    words = f"<b>{_per(cents, unit, cafe.currency)}</b> at {escape(history.title)}"
    since, low, high = span_until(history, today)
    if low < high:
        span = f"{_per(low, unit, cafe.currency)} to {_per(high, unit, cafe.currency)}"
        words += f" · {span} since {escape(bare_day(since))}"
    move = usual_move_pct(cafe.offers_of[ingredient], today)
    if move is not None:
        words += f" · moves by {number_text(move)} % in a usual month"
    spent = sum(buy.cost_cents for buy in view.plan.buys if buy.ingredient == ingredient)
    buys = f"{money_text(spent, cafe.currency)} of it is bought" if spent else "none is bought"
    return f"{words} · {escape(buys)} this week"


def _per(cents: float, unit: str, currency: str) -> str:
    return escape(f"{money_text(cents, currency)} {'each' if unit == 'each' else f'a {unit}'}")


def _chart(found: Sequence[OfferHistory], unit: str, currency: str, first: date) -> alt.Chart:
    rows = [
        (pd.Timestamp(max(point.day, first)), point.cents / 100, one.title)
        for one in found
        for point in one.points
        if point.day >= first or point is one.points[0]
    ]
    data = pd.DataFrame(rows, columns=["date", "price", "offer"])
    per = "each" if unit == "each" else f"per {unit}"
    span_days = (data["date"].max() - data["date"].min()).days
    ticks = "%b %y" if span_days > FEW_DAYS else "%-d %b"  # no month's name twice
    offer = alt.Legend(title=None, orient="bottom", columns=1, labelLimit=320, symbolType="stroke")
    chart: alt.Chart = (
        alt.Chart(data)
        .mark_line(interpolate="step-after", strokeWidth=2)
        .encode(
            x=alt.X("date:T", title="date of order", axis=alt.Axis(tickCount=5, format=ticks)),
            y=alt.Y(
                "price:Q",
                title=f"{currency} {per}",
                scale=alt.Scale(zero=False, nice=True),
                axis=alt.Axis(tickCount=5, format=".2f"),
            ),
            color=alt.Color("offer:N", legend=offer),
            strokeDash=alt.StrokeDash("offer:N", legend=offer),
            tooltip=[
                alt.Tooltip("date:T", title="from", format="%Y-%m-%d"),
                alt.Tooltip("price:Q", title=f"{currency} {per}", format=".2f"),
                alt.Tooltip("offer:N", title="offer"),
            ],
        )
    )
    return chart
