"""A plain table of text that reads on a phone and aloud."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

import streamlit as st

from optimiser.report_base import Cell


def facts_table(rows: Sequence[Mapping[str, Cell]], columns: Mapping[str, str]) -> None:
    """Rows by column; `columns`: column -> heading. Everything is escaped."""
    head = "".join(f'<th scope="col">{escape(label)}</th>' for label in columns.values())
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(_words(row[column]))}</td>" for column in columns) + "</tr>"
        for row in rows
    )
    st.html(f'<table class="facts"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>')


def _words(cell: Cell) -> str:
    return "" if cell is None else str(cell)
