"""Saving what a person wants after an answer, and the way to plan with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from optimiser.document import Document
from optimiser.document_edits import with_rules
from optimiser.rules.base import Rule
from optimiser.ui.desk import Desk, save
from optimiser.ui.plain import plain_markdown
from optimiser.ui.ways import link

SAVED = "wish_saved"

Wish = Callable[[Sequence[Rule]], Sequence[Rule]]


def note() -> None:
    """Once after a save: what was written, and the way to plan with it."""
    message = st.session_state.pop(SAVED, None)
    if message:
        st.success(plain_markdown(f"Saved. {message}"))
        link("The week", "Plan the week with it", "🗓️")


def wish_button(desk: Desk, label: str, message: str, wish: Wish) -> None:
    """A button that saves the rules as the wish has them."""
    if st.button(plain_markdown(label), key=f"do_{label}"):
        keep(desk, with_rules(desk.document, tuple(wish(desk.reading.rules))), message)


def keep(desk: Desk, document: Document, message: str) -> None:
    """Save, and run the page again with a note; what is wrong is said in place."""
    if save(document, message, desk):
        st.session_state[SAVED] = message
        st.rerun()
