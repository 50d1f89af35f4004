"""Saving an edit, dropping it, and its faults in the words of the page."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import streamlit as st

from optimiser.dish_draft import DISH_FILE, INGREDIENT_FILE, LINES, OFFERS, STEPS
from optimiser.field_words import COLUMN_LABELS
from optimiser.table_faults import Fault, shown
from optimiser.ui.desk import save
from optimiser.ui.edits import Edit, drop
from optimiser.ui.notices import done
from optimiser.ui.plain import plain_markdown

Faults = Mapping[tuple[str, int], Sequence[Fault]]
"""By file and row of the draft, as `dish_draft.Checked` has them."""

TABS = {
    LINES: "Recipe",
    STEPS: "Method",
    DISH_FILE: "Facts",
    INGREDIENT_FILE: "Facts",
    OFFERS: "Offers and prices",
}
"""Where the rows of a file are edited."""


def show_row_faults(faults: Faults, file: str, word: str) -> None:
    """Faults of the rows of one table, each with the number of its row in the dish."""
    for (place, number), found in faults.items():
        if place == file:
            for fault in found:
                st.error(plain_markdown(f"{word} {number + 1}, {fault_words(fault)}"))


def fault_words(fault: Fault) -> str:
    """Column, value, what is wrong and the mend; then where it stands in the tables."""
    column = fault.column or ""
    label = COLUMN_LABELS.get(column, column)
    return f"{label}: {shown(fault.value)}: {fault.message} ({fault.file}:{fault.row})"


def save_bar(edit: Edit, faults: Faults, what: str, fields: Collection[str]) -> None:
    """Save and drop, where there is something to save; what is to mend before.

    `fields`: columns that have a field, where their faults are shown.
    """
    if not edit.is_dirty:
        return
    name = edit.draft.facts.get("name") or edit.draft.ident
    with st.container(horizontal=True, key=f"save_bar_{what}"):
        pressed = st.button(f"Save {plain_markdown(name)}", type="primary", key=f"save_{what}")
        st.button(
            "Drop my changes",
            key=f"drop_{what}",
            on_click=drop,
            args=(edit.draft.file, edit.draft.ident),
        )
    if pressed:
        if save(edit.document, f"{what.capitalize()}: {name}", edit.desk):
            drop(edit.draft.file, edit.draft.ident)
            done(f"Saved: {name}")
            st.rerun()
    elif faults:
        _to_mend(edit, faults, fields)


def _to_mend(edit: Edit, faults: Faults, fields: Collection[str]) -> None:
    """How much is to mend on which tab; in full what has no place on any."""
    placed: dict[str, int] = {}
    loose = []
    for (file, _), found in faults.items():
        for fault in found:
            if not file or (file == edit.draft.file and fault.column not in fields):
                loose.append(fault)
            else:
                placed[TABS[file]] = placed.get(TABS[file], 0) + 1
    if placed:
        where = ", ".join(f"{count} in {tab}" for tab, count in placed.items())
        st.warning(f"To mend before it can be saved: {where}.")
    for fault in loose:
        st.error(plain_markdown(str(fault)))
