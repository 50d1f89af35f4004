"""A save that came too late: what changed meanwhile, and the person's own edit kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import streamlit as st

from optimiser.document import Document
from optimiser.store_faults import StaleSave

if TYPE_CHECKING:
    from optimiser.ui.desk import Desk

KEY = "stale_save"


def remember(clash: StaleSave, mine: Document, message: str, base: Document) -> None:
    """Keep an edit that could not be saved."""
    st.session_state[KEY] = (clash, mine, message, base)


def panel(desk: Desk) -> None:
    """What changed meanwhile, if an edit waits for it."""
    waiting = st.session_state.get(KEY)
    if waiting is None:
        return
    clash, _, message, _ = waiting
    st.warning(f"Not saved yet: {message}\n\n{clash}")
    if st.button("Drop mine, look at theirs", key="stale_drop"):
        del st.session_state[KEY]
        st.rerun()
