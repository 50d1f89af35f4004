"""The price line: what the week earns as one price moves, and where another menu begins to pay."""

from __future__ import annotations

from html import escape

import altair as alt
import pandas as pd
import streamlit as st

from optimiser.price_lines import PriceRange
from optimiser.questions import Followed
from optimiser.report_base import money_text
from optimiser.ui.at_hand import AtHand
from optimiser.ui.moved_dishes import moved_dishes

HEIGHT = 340
LEVEL = 14
"""Pixels between words beside the marks, so that neighbours do not meet."""
TODAY = "today"
GREY = "#7d8078"
MENU_KEPT, BEST = "this menu kept", "best with one cook changed"


def price_line(view: AtHand, followed: Followed, pct: float) -> None:
    """The first sentence, the line, then what is on between the prices. `pct`: of the slider."""
    found, currency = followed.found, view.desk.cafe.currency
    lines = found.sentences(currency)
    st.html(f'<p class="loss"><strong>{escape(lines[0])}</strong></p>')
    if not found.pieces:
        return
    st.altair_chart(
        _chart(followed, currency, pct),
        height=HEIGHT,
        alt=f"What the week earns against the price of {found.name}. {lines[0]}",
    )
    st.html(
        '<p class="within">Exact at the dots, changing one cook, on the same days of delivery; '
        "straight between them. Rules about costs judge as at today's price.</p>"
    )
    if not found.complete:
        st.caption("Stopped: dearer prices were not looked at.")
    with st.expander(f"What is on at which price ({len(found.pieces)})"):
        st.html(_pieces(view, found))


def _pieces(view: AtHand, found: PriceRange) -> str:
    lines = []
    for piece in found.pieces:
        ends = [_price(found, one, view.desk.cafe.currency) for one in (piece.low, piece.high)]
        here = piece.low <= 1 <= piece.high
        menu = moved_dishes(view.desk.cafe, piece.enters, piece.leaves) or "this menu as it is"
        today = " (today)" if here else ""
        look, words = "now" if here else "", escape(" to ".join(ends))
        lines.append(f'<li class="{look}"><b>{words}{today}</b> {menu}</li>')
    return f'<ul class="pieces">{"".join(lines)}</ul>'


def _price(found: PriceRange, factor: float, currency: str) -> str:
    per = "each" if found.unit == "each" else f"a {found.unit}"
    return f"{money_text(found.today_cents * factor, currency)} {per}"


def breaks(found: PriceRange) -> list[float]:
    """Factors of today's price at which the menu changes."""
    return [piece.high for piece in found.pieces[:-1]]


def _points(followed: Followed) -> pd.DataFrame:
    """What the week earns against today's price and menu, at the ends of each piece."""
    found, base = followed.found, followed.kept_cents
    rows = [(found.today_cents / 100, 0.0, MENU_KEPT)]
    if found.already_cents is not None:
        rows.append((found.today_cents / 100, found.already_cents / 100, BEST))
    for piece in found.pieces:
        for factor, kept, best in (
            (piece.low, piece.kept_low_cents, piece.best_low_cents),
            (piece.high, piece.kept_high_cents, piece.best_high_cents),
        ):
            price = found.today_cents * factor / 100
            rows.append((price, (kept - base) / 100, MENU_KEPT))
            rows.append((price, (best - base) / 100, BEST))
    return pd.DataFrame(rows, columns=["price", "more", "menu"]).drop_duplicates()


def _chart(followed: Followed, currency: str, pct: float) -> alt.LayerChart | alt.FacetChart:
    found = followed.found
    per = "each" if found.unit == "each" else f"per {found.unit}"
    legend = alt.Legend(title=None, orient="bottom", columns=1, labelLimit=260, symbolType="stroke")
    x = alt.X("price:Q", title=f"price, {currency} {per}", axis=alt.Axis(tickCount=6))
    lines = (
        alt.Chart(_points(followed))
        .mark_line(point=True, strokeWidth=2)
        .encode(
            x=x,
            y=alt.Y("more:Q", title=f"margin against now, {currency}"),
            color=alt.Color("menu:N", legend=legend, sort=[MENU_KEPT, BEST]),
            strokeDash=alt.StrokeDash("menu:N", legend=legend, sort=[MENU_KEPT, BEST]),
            tooltip=[
                alt.Tooltip("price:Q", title=f"{currency} {per}", format=".2f"),
                alt.Tooltip("more:Q", title="margin against now", format="+.2f"),
                alt.Tooltip("menu:N", title="menu"),
            ],
        )
    )
    layers = alt.layer(lines, *_marks(found, currency, pct))
    chart: alt.LayerChart | alt.FacetChart = layers.resolve_scale(y="independent")
    return chart


def _marks(found: PriceRange, currency: str, pct: float) -> list[alt.Chart]:
    """Upright lines: today's price, the slider's, and those at which the menu changes."""
    marks = [(1.0, TODAY, 0)]
    if pct and found.low <= 1 + pct / 100 <= found.high:
        marks.append((1 + pct / 100, "slider", 1))
    for number, factor in enumerate(breaks(found)):
        price = money_text(found.today_cents * factor, currency)
        marks.append((factor, f"changes at {price}", 2 + number % 3))
    middle = (found.low + found.high) / 2
    data = pd.DataFrame(
        [
            (found.today_cents * factor / 100, what, level * LEVEL, factor > middle)
            for factor, what, level in marks
        ],
        columns=["price", "what", "level", "right"],
    )
    solid = alt.condition(f"datum.what == '{TODAY}'", alt.value([1, 0]), alt.value([5, 4]))
    rules = alt.Chart(data).mark_rule(color=GREY, strokeWidth=1.5)
    drawn = [rules.encode(x="price:Q", strokeDash=solid)]
    for right in (False, True):  # words of marks on the right end before them
        words = alt.Chart(data[data["right"] == right]).mark_text(
            align="right" if right else "left",
            dx=-4 if right else 4,
            baseline="top",
            fontSize=11,
            color=GREY,
        )
        y = alt.Y("level:Q", scale=None)
        drawn.append(words.encode(x="price:Q", y=y, text="what:N"))
    return drawn
