"""A lot more: what, how much, until when. Faults stand below the field they are about."""

from __future__ import annotations

from datetime import date
from typing import Any

import streamlit as st

from optimiser.cafe import Cafe, Dish, Form, Ingredient, State
from optimiser.document import Document, faults_of
from optimiser.document_edits import add_row
from optimiser.larder_count import lot_lines, qty_text, stock_of
from optimiser.table_faults import Fault, shown
from optimiser.table_schema import MAX_G, STOCK
from optimiser.ui.desk import Desk, save, show_faults
from optimiser.ui.notices import done
from optimiser.ui.plain import plain_markdown
from optimiser.units import EACH, MASSES, PORTION, UNITS

FIELDS = ("item", "qty", "unit", "use_by", "state")
FAULTS = "larder_add_faults"


def add(desk: Desk) -> None:
    """Draw the view."""
    faults: list[Fault] = st.session_state.get(FAULTS, [])
    cafe = desk.cafe
    item = st.selectbox(
        "What is it?",
        sorted([*cafe.ingredients, *cafe.dishes], key=lambda one: cafe.name_of(one).lower()),
        index=None,
        format_func=lambda one: _called(cafe, one),
        placeholder="Type a part of its name",
        key="add_item",
        persist_state="session",
    )
    _below("item", faults)
    thing = cafe.dishes.get(item) or cafe.ingredients.get(item) if item else None
    states = _states(thing)
    state = st.segmented_control(
        "State",
        states,
        default=states[0],
        required=True,
        format_func={"whole": "whole", "opened": "opened, cut", "cooked": "cooked"}.__getitem__,
        key=f"add_state_{'-'.join(states)}",
        persist_state="session",
    )
    _below("state", faults)
    amount, measure = st.columns([1.4, 1], wrap=False)
    with amount:
        qty = st.number_input(
            "How much?",
            min_value=0.0,
            max_value=MAX_G,
            value=None,
            format="%.9g",
            key="add_qty",
            persist_state="session",
        )
        _below("qty", faults)
    with measure:
        units = _units(thing)
        unit = st.selectbox("Unit", units, key=f"add_unit_{item}", persist_state="session")
        _below("unit", faults)
    use_by: date | None = st.date_input(
        "Use by (the date on the label)",
        value=None,
        format="YYYY-MM-DD",
        key="add_use_by",
        persist_state="session",
    )
    _below("use_by", faults)
    show_faults(fault for fault in faults if fault.column not in FIELDS)
    if st.button("Put it on the shelf", type="primary", width="stretch"):
        row = {
            "item": item or "",
            "qty": "" if qty is None else qty_text(qty),
            "unit": unit,
            "use_by": use_by.isoformat() if use_by else "",
            "state": state,
        }
        _put(desk, row)


def _put(desk: Desk, row: dict[str, str]) -> None:
    """Save the lot, or tell every fault of it where it was typed."""
    document = add_row(desk.document, STOCK.file, row)
    faults = faults_of(document)
    st.session_state[FAULTS] = list(faults.faults) if faults else []
    if faults:
        st.rerun()
    name = desk.cafe.name_of(row["item"])
    if save(document, f"Added {row['qty']} {row['unit']} of {name}", desk):
        _clear()
        done(f"On the shelf: {name}, {row['qty']} {row['unit']} ({_last_lot(document)})")
        st.rerun()


def _last_lot(document: Document) -> str:
    return list(lot_lines(stock_of(document)))[-1]


def _clear() -> None:
    for key in [key for key in st.session_state if str(key).startswith("add_")]:
        del st.session_state[key]


def _below(column: str, faults: list[Fault]) -> None:
    """The faults of one field."""
    for fault in faults:
        if fault.column == column:
            st.error(plain_markdown(f"{shown(fault.value)}: {fault.message}"))


def _called(cafe: Cafe, item: str) -> str:
    return f"{cafe.name_of(item)} (cooked)" if item in cafe.dishes else cafe.name_of(item)


def _states(thing: Dish | Ingredient | None) -> list[str]:
    """The states that such a thing can be in."""
    if isinstance(thing, Dish):
        return [State.COOKED.value]
    return [State.WHOLE.value, State.OPENED.value]


def _units(thing: Dish | Ingredient | None) -> list[str]:
    """Units, the likeliest first."""
    if isinstance(thing, Dish):
        return [PORTION, *MASSES]
    whole: Any = isinstance(thing, Ingredient) and thing.form is Form.WHOLE
    first = [EACH] if whole else ["kg", "g"]
    return [*first, *(one for one in UNITS if one not in (*first, PORTION))]
