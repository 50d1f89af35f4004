"""Other good weeks, side by side with this one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape
from typing import TYPE_CHECKING

import streamlit as st

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.formats import short_day
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

if TYPE_CHECKING:
    from optimiser.good_weeks import GoodWeek

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
        places = "1 place differs" if one.different == 1 else f"{one.different} places differ"
        said(f"Week {number} {words} against this one; {places}.")
    st.html(_table(view.desk.cafe, view.plan, [one.plan for one in found]))
    st.html('<p class="within">Each has passed the check. New dishes have a plus.</p>')
    with st.container(horizontal=True):
        for number, one in enumerate(found, 1):
            if st.button(f"Take week {number} instead", key=f"take_{number}"):
                _take(view, one.plan)


def _table(cafe: Cafe, plan: Plan, others: Sequence[Plan]) -> str:
    """A row a day; what this week has not is marked."""
    heads = "".join(f'<th scope="col">Week {n}</th>' for n in range(1, len(others) + 1))
    fresh = [plan_diff(other, plan).fresh for other in others]
    body = []
    for day in sorted({row.date for row in plan.shown}):
        cells = [_cell(cafe, plan, day, frozenset())]
        cells += [_cell(cafe, other, day, new) for other, new in zip(others, fresh, strict=True)]
        body.append(f'<tr><th scope="row">{escape(short_day(day))}</th>{"".join(cells)}</tr>')
    return (
        '<div class="weeks" tabindex="0" role="region" aria-label="Weeks side by side"><table>'
        f'<thead><tr><th scope="col">Day</th><th scope="col">This week</th>{heads}</tr></thead>'
        f"<tbody>{''.join(body)}</tbody></table></div>"
    )


def _cell(cafe: Cafe, plan: Plan, day: date, fresh: frozenset[tuple[date, str]]) -> str:
    lines = []
    for dish in plan.dishes_on(day):
        name, colours = escape(cafe.name_of(dish)), chips(nutrition.colours(cafe, dish))
        new = (day, dish) in fresh
        text = f"<b>+ {name}</b>" if new else name
        lines.append(f"<li>{text} {colours}</li>")
    return f"<td><ul>{''.join(lines)}</ul></td>"


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
