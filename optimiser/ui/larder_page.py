"""Larder: what is there, until when, and what becomes of it; counting and adding."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import streamlit as st

from optimiser.larder import count_from, shelves
from optimiser.ui.desk import desk, undo_bar, week
from optimiser.ui.larder_add import add
from optimiser.ui.larder_count_view import count
from optimiser.ui.larder_import import bring_in
from optimiser.ui.larder_shelf import shelf

STYLE_FILE = Path(__file__).with_name("larder.css")
SHELF, COUNT, ADD, FILE = "Shelf", "Count", "Add", "From a file"


def today() -> date:
    """The day that days left are counted from; tests replace it."""
    return date.today()


def page() -> None:
    """Show the page."""
    st.html(STYLE_FILE)
    st.title("Larder", anchor=False)
    here = desk()
    this_week = week(here)
    counting = count_from(this_week, today())
    view = st.segmented_control(
        "View",
        [SHELF, COUNT, ADD, FILE],
        default=SHELF,
        required=True,
        key="larder_view",
        persist_state="session",
        label_visibility="collapsed",
        width="stretch",
    )
    if view == COUNT:
        count(here, shelves(this_week, counting.day))
    elif view == ADD:
        add(here)
    elif view == FILE:
        bring_in(here)
    else:
        shelf(here, this_week, counting)
    undo_bar(here)
