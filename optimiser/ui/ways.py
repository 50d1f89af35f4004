"""Ways from one page to another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

KEY = "pages"


def remember(pages: Sequence[Any]) -> None:
    """The pages of this run, by app.py."""
    st.session_state[KEY] = {page.title: page for page in pages}


def link(title: str, label: str, icon: str | None = None) -> None:
    """A link to the page of that title; only its label where there are no other pages."""
    page = st.session_state.get(KEY, {}).get(title)
    if page is None:
        st.markdown(label)
    else:
        st.page_link(page, label=label, icon=icon)
