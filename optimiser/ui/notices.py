"""What was done, said once at the top of the page to come; it stays until the next press.

No toasts: they go before everybody has read them, and Streamlit's have no name for a
screen reader.
"""

from __future__ import annotations

from html import escape

import streamlit as st

NOTICES = "desk_notices"


def done(*sentences: str) -> None:
    """Say this when the page is drawn next; the caller sees to that."""
    st.session_state[NOTICES] = [*st.session_state.get(NOTICES, ()), *sentences]


def show_notices() -> None:
    """Each sentence once."""
    lines = [f"<p>✓ {escape(one)}</p>" for one in st.session_state.pop(NOTICES, ())]
    if lines:
        st.html(f'<div class="notices" role="status">{"".join(lines)}</div>')
