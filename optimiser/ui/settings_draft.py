"""A part of the settings being edited: what is unsaved stays while a person looks elsewhere,
and is saved from the tables that it began with, so that nobody is written over."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import streamlit as st

from optimiser.document import Document
from optimiser.document_changes import changes
from optimiser.ui.desk import Desk, save
from optimiser.ui.notices import done
from optimiser.ui.plain import plain_markdown

MOST_TOLD = 12


@dataclass
class Draft:
    """An edit: the desk it began at, the tables as edited, and which one it is."""

    desk: Desk
    document: Document
    count: int


def draft_of(section: str, here: Desk) -> Draft:
    """The edit of a section, begun anew where nothing of it is unsaved."""
    key = f"settings_{section}"
    found: Draft | None = st.session_state.get(key)
    if found is None or found.document == found.desk.document:
        count = 0 if found is None else found.count
        if found is None or found.desk.revision != here.revision:
            found = Draft(here, here.document, count + 1)
            st.session_state[key] = found
    return found


def edit(section: str, here: Desk, draw: Callable[[Document, str], Document]) -> None:
    """Draw a section's fields, then save and drop where there is something to save.

    `draw`: (tables, key of its widgets) -> tables as edited. It may raise ValueError.
    """
    draft = draft_of(section, here)
    try:
        draft.document = draw(draft.document, f"{section}_{draft.count}")
    except ValueError as error:
        st.error(plain_markdown(f"Nothing can be saved: {error}."))
        return
    told = changes(draft.desk.document, draft.document)
    if not told:
        return
    with st.container(border=True, key=f"settings_bar_{section}"):
        lines = [f"- {plain_markdown(str(one))}" for one in told[:MOST_TOLD]]
        if len(told) > MOST_TOLD:
            lines.append(f"- and {len(told) - MOST_TOLD} more")
        st.markdown("\n".join(lines))
        with st.container(horizontal=True):
            pressed = st.button("Save", type="primary", key=f"settings_save_{section}")
            st.button("Drop", key=f"settings_drop_{section}", on_click=_drop, args=(section,))
        if pressed and save(draft.document, f"Settings: {section}", draft.desk):
            _drop(section)
            done("Saved")
            st.rerun()


def _drop(section: str) -> None:
    """Forget the edit, and what its widgets hold."""
    draft: Draft | None = st.session_state.get(f"settings_{section}")
    if draft is not None:
        draft.document = draft.desk.document
        draft.count += 1
