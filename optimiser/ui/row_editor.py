"""A table of rows to edit, whose cells stay text as typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import pandas as pd
import streamlit as st

from optimiser.document_edits import TableRow

ROW_PX = 35
MOST_ROWS = 24
"""More rows than this scroll inside the table."""

Cells = Mapping[str, str]


def edit_rows(
    key: str, rows: Sequence[Cells], columns: Mapping[str, Any], alt: str
) -> tuple[Cells, ...]:
    """The rows as edited, empty ones left out. `columns`: column -> its configuration.

    The table that the editor begins with stays the same while it is on the screen, or it
    would forget what was typed; after a page switch it begins with the rows as they are.
    """
    base_key = f"{key}_base"
    if key not in st.session_state or base_key not in st.session_state:
        st.session_state[base_key] = tuple(rows)
    base: tuple[Cells, ...] = st.session_state[base_key]
    frame = pd.DataFrame(
        [{name: row.get(name) or None for name in columns} for row in base],
        columns=list(columns),
        dtype=object,
    )
    edited = st.data_editor(
        frame,
        key=key,
        num_rows="dynamic",
        height=ROW_PX * (min(len(base), MOST_ROWS) + 2) + 3,  # the header, the row to add, lines
        hide_index=True,
        column_config=dict(columns),
        placeholder="",
        width="stretch",
        alt=alt,
    )
    return tuple(_rows(base, edited, columns))


def _rows(base: Sequence[Cells], edited: pd.DataFrame, columns: Iterable[str]) -> Iterable[Cells]:
    """Edited rows over those they came from, which keep their line and other columns."""
    for label, values in zip(edited.index, edited.to_dict("records"), strict=True):
        cells = {name: _text(values.get(name)) for name in columns}
        if not any(cells.values()):
            continue
        old = base[label] if isinstance(label, int) and 0 <= label < len(base) else {}
        yield TableRow({**old, **cells}, getattr(old, "line", None))


def _text(value: object) -> str:
    """A cell as text; what is not there is blank."""
    if value is None or (isinstance(value, float) and value != value):
        return ""
    return f"{value:.10g}" if isinstance(value, float) else str(value).strip()
