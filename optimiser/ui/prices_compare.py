"""Keep the menu or change it: a table, a chart, the dishes and the purchases that change."""

from __future__ import annotations

import math
from html import escape

import altair as alt
import pandas as pd
import streamlit as st

from optimiser.cafe import Cafe
from optimiser.formats import short_day
from optimiser.report_base import money_text
from optimiser.steps import Step
from optimiser.ui.at_hand import AtHand
from optimiser.ui.money_words import exactness, gain_words, step_words
from optimiser.ui.moved_dishes import moved_dishes
from optimiser.what_if import Comparison, buy_changes

HEIGHT = 60
ROW = 34


def comparison(view: AtHand, found: Comparison) -> None:
    """The answer: sentences first."""
    cafe = view.desk.cafe
    if found.kept is None or found.keeping_costs_cents is None:
        _not_kept(view, found)
        return
    told = gain_words(-found.keeping_costs_cents, cafe.currency)
    what = escape(" ".join(found.told))
    st.html(f'<p class="loss">{what} Keeping the menu <b>{escape(told)}</b>.</p>')
    for line in _changing(found, cafe.currency):
        st.html(f'<p class="said-line">{escape(line)}</p>')
    best = found.steps[-1]
    if best.enters:
        st.html(moved_dishes(cafe, best.enters, best.leaves))
    st.dataframe(
        _table(found, cafe.currency), hide_index=True, width="stretch", alt="Keeping and changing"
    )
    st.altair_chart(
        _chart(found, cafe.currency),
        height=HEIGHT + ROW * len(found.steps),
        alt="The week's margin against now, menu kept and cooks changed",
    )
    st.html(f'<p class="within">{escape(exactness(found.steps))}</p>')
    _purchases(cafe, found)


def _changing(found: Comparison, currency: str) -> list[str]:
    """What changing cooks brings, and how much of it was there before the prices moved."""
    best, before = found.steps[-1], found.steps_before
    if not best.changes:
        return []
    cooks = "one cook" if best.changes == 1 else f"up to {best.changes} cooks"
    brings = step_words(best, currency).replace("changes nothing", "brings nothing more")
    lines = [f"Then changing {cooks} {brings}."]
    if len(before) > best.changes and before[best.changes].gain_cents > 1:
        already = step_words(before[best.changes], currency)
        lines.append(f"At today's prices the same number of changes {already}.")
    return lines


def _not_kept(view: AtHand, found: Comparison) -> None:
    currency = view.desk.cafe.currency
    st.warning(" ".join(found.told))
    st.html(f'<p class="loss">The menu cannot be kept: {escape(found.reason)}.</p>')
    if found.mended is None:
        st.html('<p class="said-line">No week that changes little was found in the time given.</p>')
        return
    more = found.mended.objective_cents - found.before.objective_cents
    words = gain_words(more, currency)
    count = found.mended_changes
    how = "a new week" if count is None else f"a week that changes at most {count} cooks"
    st.html(f'<p class="said-line">The best found: {how}, which {escape(words)}.</p>')


def _name(step: Step) -> str:
    if step.changes == 0:
        return "menu kept"
    return "1 cook changed" if step.changes == 1 else f"{step.changes} cooks changed"


def _table(found: Comparison, currency: str) -> pd.DataFrame:
    base = found.before.objective_cents
    rows = [("now", found.before.objective_cents, found.before.terms_cents["purchases"], "")]
    for step in found.steps:
        plan = step.plan
        against = gain_words(plan.objective_cents - base, currency)
        rows.append((_name(step), plan.objective_cents, plan.terms_cents["purchases"], against))
    return pd.DataFrame(
        [
            (name, money_text(margin, currency), money_text(-bought, currency), against)
            for name, margin, bought, against in rows
        ],
        columns=["", "margin", "bought for", "against now"],
    )


def _chart(found: Comparison, currency: str) -> alt.LayerChart | alt.FacetChart:
    """Bars against now; where it is not proven, a line as far as it may go."""
    base = found.before.objective_cents
    rows = []
    for step in found.steps:
        more = (step.plan.objective_cents - base) / 100
        open_cents = 0.0 if math.isinf(step.at_most_cents) else step.at_most_cents - step.gain_cents
        rows.append((_name(step), more, more + open_cents / 100))
    data = pd.DataFrame(rows, columns=["menu", "more", "most"])
    y = alt.Y("menu:N", title=None, sort=[row[0] for row in rows])
    bars = (
        alt.Chart(data)
        .mark_bar(size=16)
        .encode(
            x=alt.X("more:Q", title=f"margin against now, {currency}", axis=alt.Axis(tickCount=4)),
            y=y,
            tooltip=[alt.Tooltip("menu:N"), alt.Tooltip("more:Q", format="+.2f")],
        )
    )
    ranges = alt.Chart(data).mark_rule(strokeWidth=2).encode(x="more:Q", x2="most:Q", y=y)
    return alt.layer(bars, ranges)


def _purchases(cafe: Cafe, found: Comparison) -> None:
    best = found.best
    assert best is not None
    changed = buy_changes(found.before, best)
    if not changed:
        st.html('<p class="said-line">The same packs are bought.</p>')
        return
    with st.expander(f"Purchases that change ({len(changed)})"):
        st.dataframe(
            pd.DataFrame(
                [
                    (
                        short_day(one.deliver_on),
                        cafe.suppliers[one.supplier].name,
                        cafe.name_of(one.ingredient),
                        one.pack,
                        one.packs_before,
                        one.packs_after,
                        money_text(one.more_cents, cafe.currency),
                    )
                    for one in changed
                ],
                columns=["delivery", "supplier", "what", "pack", "packs now", "then", "more money"],
            ),
            hide_index=True,
            width="stretch",
            alt="Purchases that change, by delivery",
        )
