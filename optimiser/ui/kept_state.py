"""What widgets hold, kept while another page is shown: Streamlit forgets it otherwise."""

from __future__ import annotations

from typing import Any

import streamlit as st

KEPT = "kept_state"


def restore(key: str, default: Any) -> None:
    """Before a widget of that key: give it what it held last, or a default."""
    kept = st.session_state.setdefault(KEPT, {})
    st.session_state.setdefault(key, kept.get(key, default))


def remember(key: str, value: Any) -> None:
    """After it: keep what it holds."""
    st.session_state.setdefault(KEPT, {})[key] = value


def kept(key: str) -> bool:
    """Whether anything was kept for a key."""
    return key in st.session_state.get(KEPT, {})
