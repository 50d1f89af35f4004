"""Words of the larder: short ones on buttons, whole ones for those who hear the page."""

from __future__ import annotations

import re
from html import escape

import streamlit as st

from optimiser.ui.plain import plain_markdown


def short_label(seen: str, heard: str) -> str:
    """A label of which `seen` shows and `heard` is read out too: larder.css hides what is not
    bold on the larder's buttons. Many buttons that say `Use this up` would all sound alike."""
    return f"**{plain_markdown(seen)}** {plain_markdown(heard)}"


def field_label(name: str) -> str:
    """A hidden label, which is read out as it is written: without what Markdown would take."""
    return " ".join(re.sub(r"[^\w\s,.()'&%/-]", " ", name).split())


def quiet(text: str) -> None:
    """A line of explanation. Streamlit's own captions are too pale to read by a fridge's lamp."""
    st.html(f'<p class="lot-quiet">{escape(text)}</p>')
