"""One ingredient on the page: facts, label, offers with their prices, who uses it."""

from __future__ import annotations

from dataclasses import replace
from html import escape
from typing import Any

import streamlit as st

from optimiser.allergens import ALL_ALLERGENS
from optimiser.dish_draft import INGREDIENT_FILE, OFFERS
from optimiser.dish_search import dishes_with
from optimiser.field_words import COLUMN_LABELS, ingredient_fields
from optimiser.ui.edits import Edit
from optimiser.ui.fact_fields import fact_fields, show_field_faults
from optimiser.ui.fact_table import facts_table
from optimiser.ui.look import warn
from optimiser.ui.row_editor import edit_rows
from optimiser.ui.save_bar import save_bar, show_row_faults
from optimiser.units import UNITS

NOT_READ, NAMES_NONE, NAMES_SOME = "not read: unknown", "read, names none", "read, names:"
LABEL_STATES = [NOT_READ, NAMES_NONE, NAMES_SOME]


def ingredient_editor(edit: Edit) -> None:
    """Everything of one ingredient; what is typed is kept in `edit.draft`."""
    key, draft = f"ingredient_{edit.generation}", edit.draft
    strip = st.container()
    left, right = st.columns([3, 2], gap="large")
    with left:
        facts, offers = st.tabs(["Facts", "Offers and prices"])
        with facts:
            allergens = _label(draft.facts.get("allergens", ""), key)
            typed, slots = fact_fields(ingredient_fields(), draft.facts, key)
        with offers:
            rows = edit_rows(
                f"offers_{key}", draft.parts[OFFERS], _offer_columns(edit), "Offers and prices"
            )
            offer_faults = st.container()
            st.caption("The latest row on or before the day of the order counts.")
        typed["allergens"] = allergens
        parts = {**draft.parts, OFFERS: rows}
        edit.typed(replace(draft, facts={**draft.facts, **typed}, parts=parts))
        faults = edit.checked.faults
        show_field_faults(faults.get((INGREDIENT_FILE, 0), ()), slots)
        with offer_faults:
            show_row_faults(faults, OFFERS, "Offer")
        save_bar(edit, faults, "ingredient", slots)
    with strip:
        mark = " <em>not saved yet</em>" if edit.is_dirty else ""
        name = escape(edit.draft.facts.get("name") or draft.ident)
        st.html(f'<div class="dish-strip"><h2>{name}{mark}</h2></div>')
    with right:
        _used_by(edit)


def _label(cell: str, key: str) -> str:
    """The cell of allergens: blank for a label that nobody has read."""
    state = NOT_READ if not cell else NAMES_NONE if cell.lower() == "none" else NAMES_SOME
    chosen = st.radio(
        "Label", LABEL_STATES, LABEL_STATES.index(state), key=f"{key}_label", horizontal=True
    )
    if chosen == NAMES_SOME:
        named = [one.strip().lower() for one in cell.split(";") if one.strip()]
        known = named if state == NAMES_SOME else []
        names = st.multiselect(
            "Allergens on the label",
            sorted({*ALL_ALLERGENS, *known}),
            known,
            key=f"{key}_allergens",
            format_func=lambda name: str(name).replace("_", " "),
        )
        if set(names) == set(known):
            return cell if known else ""
        return ";".join(names)
    if chosen == NAMES_NONE:
        return cell if state == NAMES_NONE else "none"
    warn("Allergens unknown: no dish with it counts as free of anything.")
    return ""


def _offer_columns(edit: Edit) -> dict[str, Any]:
    names = {one.id: one.name for one in edit.desk.cafe.suppliers.values()}
    config = st.column_config
    known = [row["supplier"] for row in edit.draft.parts[OFFERS] if row.get("supplier")]
    return {
        "supplier": config.SelectboxColumn(
            COLUMN_LABELS["supplier"],
            options=list(dict.fromkeys([*names, *known])),
            format_func=lambda one: names.get(str(one), str(one)),
        ),
        "pack_qty": config.TextColumn(COLUMN_LABELS["pack_qty"], width=70),
        "pack_unit": config.SelectboxColumn(
            COLUMN_LABELS["pack_unit"], options=list(UNITS), width=90
        ),
        "price": config.TextColumn(
            f"{COLUMN_LABELS['price']}, {edit.desk.cafe.currency}", width=100
        ),
        "from_date": config.TextColumn(
            COLUMN_LABELS["from_date"], help="as 2026-11-30; blank: from the beginning"
        ),
    }


def _used_by(edit: Edit) -> None:
    users = []
    if edit.draft.ident in edit.desk.cafe.ingredients:
        users = dishes_with(edit.desk.cafe, edit.draft.ident)
    st.subheader(f"In {len(users)} dish{'' if len(users) == 1 else 'es'}")
    if users:
        rows = [{"dish": dish.name, "grams": f"{grams:.1f} g"} for dish, grams in users]
        facts_table(rows, {"dish": "Dish", "grams": "In a portion"})
