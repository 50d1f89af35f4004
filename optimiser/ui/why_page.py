"""Why: ask about any dish, rule or leftover, and look at other weeks as good."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import streamlit as st

from optimiser.ui import ask, wish_saved
from optimiser.ui.at_hand import AtHand, at_hand
from optimiser.ui.desk import desk, undo_bar
from optimiser.ui.kept_state import remember, restore
from optimiser.ui.why_dish import dish_panel
from optimiser.ui.why_lot import lot_panel
from optimiser.ui.why_rule import rule_panel
from optimiser.ui.why_weeks import weeks_panel

STYLE_FILE = Path(__file__).with_name("prices.css")
VIEW = "why_view"

PARTS: dict[str, Callable[[AtHand], None]] = {
    "A dish": dish_panel,
    "A rule": rule_panel,
    "A leftover": lot_panel,
    "Other good weeks": weeks_panel,
}


def page() -> None:
    """Show the page."""
    st.html(STYLE_FILE)
    here = desk()
    st.title("Why")
    wish_saved.note()
    view = at_hand(here)
    if view is None:
        return
    restore(VIEW, next(iter(PARTS)))
    shown: str | None = st.segmented_control(
        "Ask about", list(PARTS), key=VIEW, label_visibility="collapsed"
    )
    remember(VIEW, shown)
    ask.running(view)
    PARTS.get(shown or "", dish_panel)(view)
    undo_bar(here)
