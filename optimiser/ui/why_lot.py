"""Where a lot goes, and what more of a thing is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from html import escape

import altair as alt
import pandas as pd
import streamlit as st

from optimiser.cafe import Cafe, Lot
from optimiser.formats import bare_day
from optimiser.larder import amount_text
from optimiser.price_history import unit_of
from optimiser.question_jobs import latest
from optimiser.questions import WhatMoreIsWorth
from optimiser.report_base import money_text
from optimiser.surplus import SurplusWorth
from optimiser.ui import ask
from optimiser.ui.at_hand import AtHand, said
from optimiser.ui.kept_state import kept, remember, restore
from optimiser.ui.larder_plan_view import plan_view
from optimiser.ui.money_words import gain_words
from optimiser.ui.ways import link
from optimiser.week import last_day

PICKED, UNTIL = "why_lot", "why_until"
UNITS = 5
"""So many units more are asked about."""
HEIGHT = 300
KEPT, CHANGED = "this menu kept", "one cook changed"


@dataclass(frozen=True)
class Unit:
    """By what more of an item is counted."""

    grams: float
    words: str


def lot_panel(view: AtHand) -> None:
    """A lot of the larder, or any other thing: where it goes, what more of it is worth."""
    cafe = view.desk.cafe
    lots = {lot.id: lot for lot in sorted(cafe.stock, key=lambda lot: last_day(lot.use_by))}
    others = sorted((set(cafe.ingredients) - {lot.item for lot in lots.values()}), key=cafe.name_of)
    picked = _pick(view, [*lots, *others])
    lot = lots.get(picked)
    item = lot.item if lot else picked
    if lot is not None:
        _story(view, lot)
    until = _until(view, lot)
    unit = unit_of_item(cafe, item)
    question = WhatMoreIsWorth(item, unit.grams, UNITS, until)
    ask.ask_button(view, question, f"What would {unit.words} more be worth?", primary=True)
    if (found := ask.answer(view, question)) is not None:
        _worth(view, found, unit)


def unit_of_item(cafe: Cafe, item: str) -> Unit:
    """A piece of a whole thing, a step of a cooked part, else a kilogram."""
    if item in cafe.dishes:
        dish = cafe.dishes[item]
        return Unit(dish.step_portions * dish.portion_g, amount_text(dish.step_portions, "portion"))
    word, grams = unit_of(cafe.ingredients[item])
    return Unit(grams, "1 piece" if word == "each" else "1 kg")


def _pick(view: AtHand, choices: list[str]) -> str:
    cafe = view.desk.cafe
    lots = {lot.id: lot for lot in cafe.stock}
    if not kept(PICKED) and PICKED not in st.session_state:
        asked = latest(view.spot, WhatMoreIsWorth)
        if isinstance(asked, WhatMoreIsWorth):
            remember(PICKED, _choice_of(lots, asked))
            remember(UNTIL, asked.use_by)
    restore(PICKED, choices[0])
    if st.session_state[PICKED] not in choices:
        st.session_state[PICKED] = choices[0]

    def words(one: str) -> str:
        lot = lots.get(one)
        if lot is None:
            return f"{cafe.name_of(one)} (none in the larder)"
        until = f", use by {bare_day(lot.use_by)}" if lot.use_by else ""
        return f"{cafe.name_of(lot.item)}: {amount_text(lot.qty, lot.unit)}{until}"

    picked: str = st.selectbox("What", choices, key=PICKED, format_func=words)
    remember(PICKED, picked)
    return picked


def _choice_of(lots: dict[str, Lot], asked: WhatMoreIsWorth) -> str:
    """The lot that a question came from, else any of the item, else the item."""
    own = [lot for lot in lots.values() if lot.item == asked.item]
    same = [lot.id for lot in own if lot.use_by == asked.use_by]
    return next(iter([*same, *(lot.id for lot in own)]), asked.item)


def _story(view: AtHand, lot: Lot) -> None:
    """What the plan does with it."""
    planned = plan_view(view.desk)
    story = planned.stories.get(lot.id) if planned else None
    if story is None:
        said("The plan was made before this lot was there: plan again to use it.")
        return
    uses = "".join(f"<li>{escape(use)}</li>" for use in story.uses)
    where = f'<ul class="pieces">{uses}</ul>' if uses else ""
    st.html(f'<p class="loss"><strong>{escape(story.ending.capitalize())}</strong></p>{where}')


def _until(view: AtHand, lot: Lot | None) -> date | None:
    """Until when more of it would be good: as the lot, unless said otherwise."""
    key = f"{UNTIL}_{lot.id if lot else 'other'}"
    restore(key, lot.use_by if lot else None)
    with st.popover("Good until another day"):
        until: date | None = st.date_input(
            "More of it is good until (blank: it lasts)", key=key, min_value=view.week.planned_on
        )
    remember(key, until)
    return until


def _worth(view: AtHand, found: SurplusWorth, unit: Unit) -> None:
    currency = view.desk.cafe.currency
    if len(found.kept_cents) < 2:
        said("Nothing was found out before it was stopped.")
        return
    first = found.next_unit(False)[0]
    words = gain_words(first, currency)
    st.html(
        f'<p class="loss"><strong>{escape(unit.words)} more {escape(words)}</strong>'
        " with this menu</p>"
    )
    if found.changed_cents[0] > 1:
        anyway = money_text(found.changed_cents[0], currency)
        said(f"Changing one cook would bring {anyway} without any of it.")
    st.altair_chart(
        _chart(found, unit, currency),
        height=HEIGHT,
        alt=f"What each further {unit.words} of {found.name} is worth, in {currency}",
    )
    st.html(
        '<p class="within">Exact with this menu, or changing one cook, on the same days of '
        "delivery.</p>"
    )
    link("Larder", "Put it into the larder")


def _chart(found: SurplusWorth, unit: Unit, currency: str) -> alt.Chart:
    """What each further unit brings: it falls as there is more."""
    rows = [
        (number, cents / 100, name)
        for name, changed in ((KEPT, False), (CHANGED, True))
        for number, cents in enumerate(found.next_unit(changed), 1)
    ]
    data = pd.DataFrame(rows, columns=["number", "worth", "menu"])
    legend = alt.Legend(title=None, orient="bottom", symbolType="stroke", columns=1)
    order = [KEPT, CHANGED]
    chart: alt.Chart = (
        alt.Chart(data)
        .mark_line(point=True, interpolate="linear", strokeWidth=2)
        .encode(
            x=alt.X(
                "number:O", title=f"how many more, {unit.words} each", axis=alt.Axis(labelAngle=0)
            ),
            y=alt.Y("worth:Q", title=f"worth, {currency}"),
            color=alt.Color("menu:N", legend=legend, sort=order),
            strokeDash=alt.StrokeDash("menu:N", legend=legend, sort=order),
            tooltip=[
                alt.Tooltip("number:O", title="number"),
                alt.Tooltip("worth:Q", title=currency, format="+.2f"),
                alt.Tooltip("menu:N", title="menu"),
            ],
        )
    )
    return chart
