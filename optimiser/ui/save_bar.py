"""Saving an edit, dropping it, and its faults in the words of the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import streamlit as st

from optimiser.field_words import COLUMN_LABELS
from optimiser.table_faults import Fault, shown
from optimiser.ui.desk import save, show_faults
from optimiser.ui.edits import Edit, drop

Faults = Mapping[tuple[str, int], Sequence[Fault]]
"""By file and row of the draft, as `dish_draft.faults_by_place` gives them."""


def show_row_faults(faults: Faults, file: str, word: str) -> None:
    """Faults of the rows of one table, each with the number of its row in the dish."""
    for (place, number), found in faults.items():
        if place == file:
            for fault in found:
                st.error(f"{word} {number + 1}, {fault_words(fault)}")


def fault_words(fault: Fault) -> str:
    """Column, value, what is wrong and the mend; then where it stands in the tables."""
    column = fault.column or ""
    label = COLUMN_LABELS.get(column, column)
    return f"{label}: {shown(fault.value)}: {fault.message} ({fault.file}:{fault.row})"


def save_bar(edit: Edit, faults: Faults, what: str) -> None:
    """Save and drop, where there is something to save; what is to mend before."""
    if not edit.is_dirty:
        return
    name = edit.draft.facts.get("name") or edit.draft.ident
    count = sum(len(found) for found in faults.values())
    with st.container(horizontal=True, key=f"save_bar_{what}"):
        pressed = st.button(f"Save {name}", type="primary", key=f"save_{what}")
        st.button(
            "Drop my changes",
            key=f"drop_{what}",
            on_click=drop,
            args=(edit.draft.file, edit.draft.ident),
        )
    if pressed:
        if save(edit.document, f"{what.capitalize()}: {name}", edit.desk):
            drop(edit.draft.file, edit.draft.ident)
            st.toast(f"Saved: {name}")
            st.rerun()
    elif count:
        st.warning(f"{count} thing{'' if count == 1 else 's'} to mend before it can be saved.")
        show_faults(faults.get(("", 0), ()))
