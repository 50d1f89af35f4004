"""Saving a wish from a dialog, which closes once that is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from optimiser.document_edits import with_rules
from optimiser.rules.base import Rule
from optimiser.ui.desk import Desk, save
from optimiser.ui.plain import plain_markdown

DONE = "week_wish_done"

Wish = Callable[[Sequence[Rule]], tuple[Rule, ...]]


def wish_button(desk: Desk, label: str, message: str, wish: Wish, wide: bool = False) -> None:
    """A button that saves the rules as the wish has them."""
    st.button(
        plain_markdown(label),
        key=f"wish_{label}",
        on_click=_save,
        args=(desk, message, wish),
        width="stretch" if wide else "content",
    )


def _save(desk: Desk, message: str, wish: Wish) -> None:
    save(with_rules(desk.document, wish(desk.reading.rules)), message, desk)
    st.session_state[DONE] = True


def close_when_done() -> None:
    """A rerun of the page closes a dialog; for every fragment of one to begin with."""
    if st.session_state.pop(DONE, False):
        st.rerun()


def page_runs() -> None:
    """The page has run again by itself: nothing is left to close."""
    st.session_state.pop(DONE, None)
