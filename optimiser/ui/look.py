"""How the pages look: one block of style, chips for colours, warnings, empty states."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from pathlib import Path

import streamlit as st

from optimiser.colour_letters import letters

STYLE_FILE = Path(__file__).with_name("look.css")


def style() -> None:
    """The style of all pages. Called once a run, by app.py."""
    st.html(STYLE_FILE)


def paint(colour: str) -> str:
    """Class names that fill an element with a colour and its pattern."""
    return f"paint paint-{letters([colour])[colour]}"


def chip(colour: str) -> str:
    """HTML of one colour: its letter, and a swatch with a pattern of its own."""
    letter = letters([colour])[colour]
    name = escape(colour, quote=True)
    return (
        f'<span class="chip" role="img" aria-label="{name}" title="{name}">'
        f'<b aria-hidden="true">{escape(letter)}</b><i class="{escape(paint(colour))}"></i></span>'
    )


def chips(colours: Iterable[str]) -> str:
    """HTML of several colours."""
    inside = "".join(chip(colour) for colour in colours)
    return f'<span class="chips">{inside}</span>' if inside else ""


def warn(text: str) -> None:
    """A caution that nobody should miss; the text is shown as it is."""
    st.html(f'<div class="caution" role="note"><b>!</b><span>{escape(text)}</span></div>')


def empty(text: str, hint: str = "") -> None:
    """What to say where there is nothing yet, and what to do about it."""
    more = f"<p>{escape(hint)}</p>" if hint else ""
    st.html(f'<div class="empty"><h2>{escape(text)}</h2>{more}</div>')
