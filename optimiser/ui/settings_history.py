"""The history of the tables: who changed what and when, and steps back and forward."""

from __future__ import annotations

import streamlit as st

from optimiser.store import Revision, StoreFault
from optimiser.store_faults import change_lines
from optimiser.ui.desk import Desk, open_store, save, undo_bar
from optimiser.ui.plain import plain_markdown

MOST_SHOWN = 100
NOTHING = "Nothing differs."


def history(here: Desk) -> None:
    """Undo and redo, the revisions, and what each changed."""
    undo_bar(here)
    try:
        with open_store() as store:
            revisions = store.history()[::-1]
    except (StoreFault, OSError) as fault:
        st.error(f"The history cannot be read: {fault}")
        return
    shown = revisions[:MOST_SHOWN]
    rows = [_row(one, here) for one in shown]
    st.table(rows, hide_index=True, alt="Revisions of the tables, newest first")
    if len(revisions) > MOST_SHOWN:
        st.caption(f"The newest {MOST_SHOWN} of {len(revisions)}; `store FILE history` lists all.")
    chosen = st.selectbox("What changed in", shown, format_func=str, key="history_of")
    if chosen is not None:
        _changes(chosen, here)


def _row(one: Revision, here: Desk) -> dict[str, str]:
    return {
        "": "now" if one.id == here.revision else "",
        "Number": str(one.id),
        "When (UTC)": f"{one.when:%Y-%m-%d %H:%M}",
        "Who": plain_markdown(one.who),
        "What": plain_markdown(one.message),
    }


def _changes(one: Revision, here: Desk) -> None:
    """What a revision changed, and the way back to it."""
    try:
        with open_store() as store:
            told = [] if one.parent is None else store.difference(one.parent, one.id)
            document = store.document(one.id)
    except (StoreFault, OSError) as fault:
        st.error(f"Revision {one.id} cannot be read: {fault}")
        return
    if one.parent is None:
        st.markdown("The first tables of this store.")
    else:
        lines = [f"- {plain_markdown(line.strip())}" for line in change_lines(told)]
        st.markdown("\n".join(lines) or NOTHING)
    if document != here.document and st.button(f"Take the tables of revision {one.id} again"):
        if save(document, f"Back to revision {one.id}", here):
            st.rerun()
