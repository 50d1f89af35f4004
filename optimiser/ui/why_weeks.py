"""Other good weeks, side by side with this one."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import streamlit as st

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.formats import short_day
from optimiser.good_weeks import GoodWeek
from optimiser.plan import Plan
from optimiser.plan_diff import plan_diff
from optimiser.question_jobs import latest
from optimiser.questions_wide import OtherGoodWeeks
from optimiser.store import StoreFault
from optimiser.ui import ask
from optimiser.ui.at_hand import AtHand, said
from optimiser.ui.desk import open_store, who
from optimiser.ui.kept_state import kept, remember, restore
from optimiser.ui.look import chips
from optimiser.ui.money_words import gain_words
from optimiser.ui.plain import plain_markdown
from optimiser.ui.ways import link

WITHIN, TAKEN = "why_within", "why_taken"
FIRST_WITHIN = 20


def weeks_panel(view: AtHand) -> None:
    """Weeks that earn nearly as much and differ as much as they can."""
    if st.session_state.pop(TAKEN, False):
        st.success("It is the week now. The one before is kept in the history.")
        link("The week", "Open the week", "🗓️")
    if not kept(WITHIN) and WITHIN not in st.session_state:
        asked = latest(view.spot, OtherGoodWeeks)
        if isinstance(asked, OtherGoodWeeks):
            remember(WITHIN, asked.within_cents // 100)
    restore(WITHIN, FIRST_WITHIN)
    within: int = st.number_input(
        f"Short of this week by at most, {view.desk.cafe.currency}",
        min_value=1,
        max_value=10_000,
        step=5,
        key=WITHIN,
        width=280,
    )
    remember(WITHIN, within)
    question = OtherGoodWeeks(within * 100)
    ask.ask_button(view, question, "Look for other good weeks", primary=True)
    found = ask.answer(view, question)
    if found is None:
        return
    if not found:
        said("None was found in the time given.")
        return
    _side_by_side(view, found)


def _side_by_side(view: AtHand, found: Sequence[GoodWeek]) -> None:
    currency = view.desk.cafe.currency
    for number, one in enumerate(found, 1):
        words = gain_words(-one.short_cents, currency)
        count = plan_diff(one.plan, view.plan).count
        places = "1 place differs" if count == 1 else f"{count} places differ"
        sure = ", and no week so good differs more from those before it" if one.proven else ""
        said(f"Week {number} {words} against this one; {places}{sure}.")
    plans = [one.plan for one in found]
    st.html(_differences(view.desk.cafe, view.plan, plans))
    st.html('<p class="within">Each has passed the check.</p>')
    with st.container(horizontal=True):
        for number, one in enumerate(found, 1):
            if st.button(f"Take week {number} instead", key=f"take_{number}"):
                _take(view, one.plan)


def _differences(cafe: Cafe, plan: Plan, others: Sequence[Plan]) -> str:
    """A row for each day that differs: in each week what comes in, and what leaves this one."""
    diffs = [plan_diff(other, plan) for other in others]
    heads = "".join(f'<th scope="col">Week {n}</th>' for n in range(1, len(others) + 1))
    body = []
    for day in sorted({row.date for row in plan.shown}):
        cells = []
        for other, diff in zip(others, diffs, strict=True):
            gone = [one for (when, _), left in diff.gone.items() if when == day for one in left]
            new = [one for one in other.dishes_on(day) if (day, one) in diff.fresh]
            cells.append(_cell(cafe, new, gone))
        if any(cells):
            row = "".join(f"<td>{cell or 'as this week'}</td>" for cell in cells)
            body.append(f'<tr><th scope="row">{escape(short_day(day))}</th>{row}</tr>')
    return (
        '<div class="weeks" tabindex="0" role="region" aria-label="Weeks side by side"><table>'
        f'<thead><tr><th scope="col">Day</th>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def _cell(cafe: Cafe, new: Sequence[str], gone: Sequence[str]) -> str:
    lines = [("In", one) for one in new] + [("Out", one) for one in gone]
    items = "".join(
        f'<li><span class="sign">{sign}</span><span>{escape(cafe.name_of(dish))} '
        f"{chips(nutrition.colours(cafe, dish))}</span></li>"
        for sign, dish in lines
    )
    return f'<ul class="moves">{items}</ul>' if items else ""


def _take(view: AtHand, plan: Plan) -> None:
    """Keep another week as the present one."""
    try:
        with open_store() as store:
            store.add_plan(plan, view.desk.revision, who())
    except (StoreFault, OSError) as fault:
        st.error(plain_markdown(f"It could not be kept: {fault}"))
        return
    st.session_state[TAKEN] = True
    st.rerun()
