"""One dish on the page: its recipe, method and facts to edit, what follows beside them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import streamlit as st

from optimiser.dish_draft import DISH_FILE, LINES, STEPS
from optimiser.field_words import COLUMN_LABELS, dish_fields
from optimiser.name_match import called
from optimiser.ui.dish_panel import dish_panel, dish_strip
from optimiser.ui.edits import Edit
from optimiser.ui.fact_fields import fact_fields, show_field_faults
from optimiser.ui.paste_panel import paste_panel
from optimiser.ui.row_editor import edit_rows
from optimiser.ui.save_bar import save_bar, show_row_faults
from optimiser.units import UNITS

STATIONS = ("hands_on", "oven", "hob", "processor", "fridge")


def dish_editor(edit: Edit) -> None:
    """Everything of one dish; what is typed is kept in `edit.draft`."""
    strip = st.container()
    left, right = st.columns([5, 3], gap="large")
    key, draft = f"dish_{edit.generation}", edit.draft
    with left:
        recipe, method, facts, pasted = st.tabs(["Recipe", "Method", "Facts", "Paste a recipe"])
        with recipe:
            lines = edit_rows(
                f"lines_{key}", draft.parts[LINES], _line_columns(edit), "Lines of the recipe"
            )
            recipe_faults = st.container()
        with method:
            steps = edit_rows(
                f"steps_{key}", draft.parts[STEPS], _step_columns(edit), "Steps of the method"
            )
            method_faults = st.container()
        with facts:
            typed, slots = fact_fields(dish_fields(edit.desk.cafe), draft.facts, key)
        parts = {**draft.parts, LINES: lines, STEPS: steps}
        edit.typed(replace(draft, facts={**draft.facts, **typed}, parts=parts))
        with pasted:
            paste_panel(edit)
        faults = edit.checked.faults
        with recipe_faults:
            show_row_faults(faults, LINES, "Line")
        with method_faults:
            show_row_faults(faults, STEPS, "Step")
        show_field_faults(faults.get((DISH_FILE, 0), ()), slots)
        save_bar(edit, faults, "dish", slots)
    with strip:
        dish_strip(edit)
    with right:
        dish_panel(edit)


def _line_columns(edit: Edit) -> dict[str, Any]:
    """Columns of recipe lines: things by name, units and yes or no as choices."""
    names = called(edit.cafe)
    items = [item for item in names if item != edit.draft.ident]
    items += [row["item"] for row in edit.draft.parts[LINES] if row["item"] not in names]
    config = st.column_config
    yes_no = ["yes", "no"]
    return {
        "item": config.SelectboxColumn(
            COLUMN_LABELS["item"],
            options=list(dict.fromkeys(items)),
            format_func=lambda item: names.get(str(item), str(item)),
            width=175,
        ),
        "qty": config.TextColumn(COLUMN_LABELS["qty"], width=92),
        "unit": config.SelectboxColumn(COLUMN_LABELS["unit"], options=list(UNITS), width=76),
        "note": config.TextColumn(COLUMN_LABELS["note"], width=105),
        "visible": config.SelectboxColumn(
            COLUMN_LABELS["visible"],
            options=yes_no,
            width=72,
            help="no: a dressing or spice that adds no colour; blank: yes",
        ),
        "flexible": config.SelectboxColumn(
            COLUMN_LABELS["flexible"],
            options=yes_no,
            width=98,
            help="yes: may be stretched a little to finish a whole thing; blank: no",
        ),
        "yield_pct": config.TextColumn(
            COLUMN_LABELS["yield_pct"],
            width=88,
            help="eaten of what is bought, on this line; blank: the ingredient's own",
        ),
    }


def _step_columns(edit: Edit) -> dict[str, Any]:
    config = st.column_config
    known = [row.get("station", "") for row in edit.draft.parts[STEPS]]
    stations = [one for one in dict.fromkeys([*STATIONS, *known]) if one]
    return {
        "step": config.TextColumn(COLUMN_LABELS["step"], width=75),
        "text": config.TextColumn(COLUMN_LABELS["text"], width=290),
        "minutes": config.TextColumn(COLUMN_LABELS["minutes"], width=90),
        "station": config.SelectboxColumn(COLUMN_LABELS["station"], options=stations, width=100),
        "ahead_days": config.TextColumn(COLUMN_LABELS["ahead_days"], width=115),
    }
