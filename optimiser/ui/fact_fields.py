"""A form of cells: the first group in sight, the others folded, a place for faults under each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import streamlit as st

from optimiser.field_words import Field, Groups
from optimiser.table_faults import Fault, shown
from optimiser.ui.plain import plain_markdown

PER_ROW = 2

Slots = dict[str, Any]
"""Column -> the container under its field."""


def fact_fields(groups: Groups, cells: Mapping[str, str], key: str) -> tuple[dict[str, str], Slots]:
    """The cells as typed, and where to say what is wrong with them."""
    typed: dict[str, str] = {}
    slots: Slots = {}
    for number, (heading, fields) in enumerate(groups.items()):
        with st.container() if number == 0 else st.expander(heading):
            for start in range(0, len(fields), PER_ROW):
                _row(fields[start : start + PER_ROW], cells, key, typed, slots)
    return typed, slots


def show_field_faults(faults: Iterable[Fault], slots: Slots) -> None:
    """Faults under the fields that they are of."""
    for fault in faults:
        if fault.column in slots:
            words = f"{shown(fault.value)}: {fault.message}"
            slots[fault.column].error(plain_markdown(words))


def _row(
    fields: Sequence[Field], cells: Mapping[str, str], key: str, typed: dict[str, str], slots: Slots
) -> None:
    for column, field in zip(st.columns(PER_ROW), fields, strict=False):
        with column:
            typed[field.column] = _field(field, cells.get(field.column, ""), key)
            slots[field.column] = st.container()


def _field(field: Field, cell: str, key: str) -> str:
    name = f"{key}_{field.column}"
    if not field.choices:
        hint = f"blank: {field.blank}" if field.blank else None
        return str(st.text_input(field.label, cell, key=name, placeholder=hint)).strip()
    options = list(dict.fromkeys([*field.choices, cell]))
    chosen = st.selectbox(
        field.label, options, options.index(cell), key=name, format_func=_choice_words
    )
    return str(chosen)


def _choice_words(option: str) -> str:
    return str(option).replace("_", " ") or "not said"
