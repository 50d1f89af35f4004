"""Links from one page to another."""

from __future__ import annotations

import streamlit as st


def week_link(label: str) -> None:
    """A link to the page of the week."""
    from optimiser.ui import week_page  # which may have links of its own

    week = st.Page(week_page.page, title="The week", url_path="week", default=True)
    st.page_link(week, label=label, icon="🗓️")
