"""Counting on a phone: big plus and minus for each lot in its own unit, saved all at once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from decimal import Decimal
from html import escape

import streamlit as st

from optimiser.cafe import State
from optimiser.larder import Shelf, amount_text
from optimiser.larder_count import (
    Draft,
    applied,
    lot_lines,
    qty_text,
    same_qty,
    step_of,
    stepped,
    stock_rows,
)
from optimiser.larder_list import with_stock
from optimiser.rules.words import counted
from optimiser.table_schema import MAX_G
from optimiser.ui.desk import Desk, save
from optimiser.ui.larder_draft import TOLD, draft_of, drop, keep
from optimiser.ui.larder_label import field_label, short_label
from optimiser.ui.look import empty, warn
from optimiser.ui.notices import done
from optimiser.units import EACH
from optimiser.week import DRY_KEEPS_DAYS

OPENED, FRESH, STORES = "Opened, cooked", "Fresh", "Stores"
BUTTON_PX, FIELD_PX = 56, 92

Put = Callable[[str | None], None]
"""Keeps a count of one lot; None takes it back."""

PARTS = (OPENED, FRESH, STORES)
"""The parts of a walk-in, one list each."""


def part_of(desk: Desk, row: Shelf) -> str:
    """Where a lot stands."""
    if row.lot.state is not State.WHOLE:
        return OPENED
    keeps_days = desk.cafe.ingredients[row.lot.item].keeps_days
    return FRESH if keeps_days < DRY_KEEPS_DAYS else STORES


@st.fragment
def count(desk: Desk, rows: list[Shelf]) -> None:
    """Draw the view; a press draws this part of the page only."""
    if not rows:
        empty("Nothing to count yet", "Add a lot, or bring in a counted list.")
        return
    draft = draft_of(desk)
    for text in st.session_state.get(TOLD, ()):
        warn(text)
    lines = lot_lines(draft.rows)
    by_part = {part: [row for row in rows if part_of(desk, row) == part] for part in PARTS}
    labels = {
        part: f"{part} {sum(lines[row.lot.id] in draft.counts for row in inside)}/{len(inside)}"
        for part, inside in by_part.items()
        if inside
    }
    part = st.segmented_control(
        "Part of the larder",
        list(labels),
        format_func=lambda one: labels[one],
        default=next(iter(labels)),
        required=True,
        key="larder_part",
        persist_state="session",
        width="stretch",
    )
    _bar(desk, draft, len(rows))
    cards = st.container(key="larder_group_count")
    for row in sorted(by_part[part], key=lambda row: (row.name, lines[row.lot.id])):
        with cards:
            _card(desk, draft, row, lines[row.lot.id])
    if draft.counts and st.button("Forget this count and start over", type="tertiary"):
        drop(desk)
        st.rerun()


def _bar(desk: Desk, draft: Draft, lots: int) -> None:
    """How far the count is, and the one button that saves it."""
    changed = len(draft.differing)
    with st.container(key="count_bar", horizontal=True, vertical_alignment="center"):
        said = f"{len(draft.counts)} of {lots} counted, {changed} changed"
        st.html(f'<div role="status"><b>{escape(said)}</b></div>')
        if st.button("Save the count", type="primary", disabled=not draft.counts):
            _save(desk, draft)


def _save(desk: Desk, draft: Draft) -> None:
    """One revision for all counts; where nothing differs there is nothing to keep."""
    number, changed = len(draft.counts), len(draft.differing)
    if changed:
        stock = with_stock(desk.document, desk.reading, *applied(draft))
        message = f"Counted {counted(number, 'lot')}: {changed} changed"
        if not save(stock.document, message, desk):
            return
        for rule in stock.dropped:
            done(f"Gone with its lot: {rule.describe(desk.cafe)}")
    drop(desk)
    done(f"{counted(number, 'lot')} counted" + ("" if changed else ": all as written"))
    st.rerun()


def _card(desk: Desk, draft: Draft, row: Shelf, line: int) -> None:
    """One lot with its minus, number, plus and tick."""
    written = stock_rows(draft.rows)[line]["qty"]
    unit, state = row.lot.unit, row.lot.state.value
    here = draft.counts.get(line)
    name = f"{row.name}, {unit}" + ("" if state == "whole" else f", {state}")
    key = f"{_mark(draft)}_{line}"
    step = step_of(unit, state)

    def put(qty: str | None) -> None:
        now = draft_of(desk)
        keep(desk, now.uncounted(line) if qty is None else now.counted(line, qty))

    with st.container(border=True, key=f"count_{'done' if here else 'open'}_{key}"):
        st.html(_head(row, unit, state, written, here))
        with st.container(horizontal=True, wrap=False, gap="xsmall"):
            _step_button(put, key, name, here or written, -step)
            _quantity(put, key, name, here or written, step)
            _step_button(put, key, name, here or written, step)
            st.button(
                short_label("✓ Counted" if here else "✓ As is", name),
                key=f"same_{key}",
                type="primary" if here else "secondary",
                width="stretch",
                on_click=_tick,
                args=(put, key, written, here),
            )


def _step_button(put: Put, key: str, name: str, qty: str, by: Decimal) -> None:
    st.button(
        short_label("−", f"less {name}") if by < 0 else short_label("+", f"more {name}"),
        key=f"{'less' if by < 0 else 'more'}_{key}",
        width=BUTTON_PX,
        on_click=_press,
        args=(put, key, qty, by),
    )


def _quantity(put: Put, key: str, name: str, qty: str, step: Decimal) -> None:
    if f"qty_{key}" not in st.session_state:
        st.session_state[f"qty_{key}"] = float(qty)
    st.number_input(
        field_label(name),
        min_value=0.0,
        max_value=MAX_G,
        step=float(step),
        format="%.9g",
        key=f"qty_{key}",
        label_visibility="collapsed",
        width=FIELD_PX,
        on_change=_typed,
        args=(put, key),
    )


def _head(row: Shelf, unit: str, state: str, written: str, here: str | None) -> str:
    """What the lot is, and what is new about it."""
    was = amount_text(float(written), unit)
    said = f"{was} written"
    if here is not None and not same_qty(here, written):
        said = f"was {was}"
        if same_qty(here, "0"):
            said += ": none left, its row goes"
    of_state = "" if state == "whole" else f" <i>{escape(state)}</i>"
    return (
        f'<div class="lot"><div class="lot-head"><b>{escape(row.name)}</b>{of_state} '
        f"<span>{escape('pieces' if unit == EACH else unit)}</span></div>"
        f'<div class="lot-quiet">{escape(said)} · {row.urgency.mark} {escape(row.when)}</div></div>'
    )


def _mark(draft: Draft) -> str:
    """A short word for these rows: fields of other rows must not lend their values."""
    return hashlib.sha256(repr(draft.rows).encode()).hexdigest()[:8]


def _press(put: Put, key: str, qty: str, by: Decimal) -> None:
    new = stepped(qty, by)
    st.session_state[f"qty_{key}"] = float(new)
    put(new)


def _typed(put: Put, key: str) -> None:
    value = st.session_state[f"qty_{key}"]
    put(None if value is None else qty_text(value))


def _tick(put: Put, key: str, written: str, here: str | None) -> None:
    """Counted as it stands in the field; again: not counted after all."""
    if here is not None:
        st.session_state[f"qty_{key}"] = float(written)
    put(written if here is None else None)
