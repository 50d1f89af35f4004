"""The week: the cabinet as it will look."""

from __future__ import annotations

from datetime import date

import streamlit as st

from optimiser.cabinet_view import fronts
from optimiser.ui.cabinet import cabinet
from optimiser.ui.desk import desk, present_of


def page() -> None:
    """Show the page."""
    here = desk()
    present = present_of(here)
    if present is None:
        st.write("nothing")
        return
    cabinet(fronts(present.plan, here.cafe, here.rules), here.cafe, date.today(), st.write)
