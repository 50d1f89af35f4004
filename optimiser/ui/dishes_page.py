"""Dishes."""

from __future__ import annotations

import streamlit as st


def page() -> None:
    """Show the page."""
    st.title("Dishes")
