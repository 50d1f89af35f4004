"""Three steps for the first time: count, plan, order. They go away when they are done."""

from __future__ import annotations

import streamlit as st

from optimiser.present import Present
from optimiser.ui.desk import Desk, open_store
from optimiser.ui.ways import link

COUNTED, GONE = "path_counted", "path_gone"
STOCK = "stock.csv"
KNOWS_ITS_WAY = 2
"""Plans kept after which nobody is here for the first time."""


def path(desk: Desk, present: Present | None) -> None:
    """The steps, each with its state and the way there; nothing once they are known."""
    planned = present is not None and present.holds
    with open_store() as store:
        knows_its_way = len(store.plans()) >= KNOWS_ITS_WAY
        stock = [store.document(one).tables.get(STOCK) for one in (1, desk.revision)]
    if knows_its_way or st.session_state.get(GONE):
        return
    counted = present is not None or stock[0] != stock[1] or bool(st.session_state.get(COUNTED))
    with st.container(key="path", horizontal=True, vertical_alignment="center"):
        _step(1, "Count the larder", counted)
        if not counted:
            link("Larder", "Open the larder")
            st.button("It is right as it is", key=f"{COUNTED}_yes", on_click=_set, args=(COUNTED,))
        _step(2, "Plan the week", planned)
        _step(3, "Order list", False)
        if planned:
            link("Sheets", "Open the order list")
            st.button("Done", key=f"{GONE}_yes", on_click=_set, args=(GONE,))


def _step(number: int, words: str, done: bool) -> None:
    sign, state = ("✓", "done") if done else (str(number), "to do")
    st.html(
        f'<p class="step step-{state[:2]}"><b aria-hidden="true">{sign}</b> {words}'
        f'<span class="unseen"> ({state})</span></p>',
        width="content",
    )


def _set(flag: str) -> None:
    st.session_state[flag] = True
