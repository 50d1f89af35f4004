"""A counted list from a file: checked, explained, looked at cell by cell, then saved."""

from __future__ import annotations

import streamlit as st

from optimiser.document_changes import Change, changes
from optimiser.larder_count import stock_of
from optimiser.larder_list import KINDS, MAX_LIST_BYTES, NewStock, read_list
from optimiser.reports import csv_text
from optimiser.rules.words import counted
from optimiser.table_faults import Fault, TableFaults, shown
from optimiser.table_schema import STOCK
from optimiser.ui.desk import Desk, save, show_faults
from optimiser.ui.larder_label import quiet
from optimiser.ui.notices import done
from optimiser.ui.plain import plain_markdown

ROUND = "larder_list_round"
"""In the session: how many lists were saved, so that each gets a fresh field."""

MOST_FAULTS, MOST_CHANGES = 50, 200


def bring_in(desk: Desk) -> None:
    """Draw the view."""
    quiet(
        "A stock table (item, qty, unit, use_by, state) as CSV, or a workbook with a sheet "
        "called stock. It takes the place of all lots."
    )
    st.download_button(
        "Take the present list along",
        _list_text(desk),
        file_name=STOCK.file,
        mime="text/csv",
        on_click="ignore",
    )
    given = st.file_uploader(
        "Counted list",
        type=list(KINDS),
        max_upload_size=MAX_LIST_BYTES // 1_000_000,
        key=f"larder_list_{st.session_state.get(ROUND, 0)}",
    )
    if given is None:
        return
    try:
        stock = read_list(given.name, given.getvalue(), desk.document, desk.reading)
    except TableFaults as faults:
        _show(given.name, faults.faults)
        return
    _preview(desk, given.name, stock)


def _list_text(desk: Desk) -> str:
    head, *rows = stock_of(desk.document) or (STOCK.names,)
    names = tuple(dict.fromkeys(head))
    return csv_text(names, [dict(zip(head, row, strict=False)) for row in rows])


def _show(name: str, faults: tuple[Fault, ...]) -> None:
    st.error(
        plain_markdown(f"{name}: {counted(len(faults), 'thing')} to mend. Nothing was changed.")
    )
    show_faults(faults[:MOST_FAULTS])
    if len(faults) > MOST_FAULTS:
        st.error(f"... and {len(faults) - MOST_FAULTS} more.")


def _preview(desk: Desk, name: str, stock: NewStock) -> None:
    """What the list would change, and the button that does it."""
    found = changes(desk.document, stock.document)
    if not found:
        st.success(plain_markdown(f"{name} says what the larder says already."))
        return
    with st.container(key="larder_head_list"):
        st.header(f"{counted(len(found), 'change')} to look at", anchor=False)
    shown_rows = [_row(change) for change in found[:MOST_CHANGES]]
    st.table(shown_rows, hide_index=True, alt="What the list changes, cell by cell")
    if len(found) > MOST_CHANGES:
        quiet(f"... and {len(found) - MOST_CHANGES} more.")
    for rule in stock.dropped:
        st.warning(plain_markdown(f"Goes with its lot: {rule.describe(desk.cafe)}"))
    if st.button(f"Save these {len(found)}", type="primary", width="stretch"):
        if save(stock.document, f"Counted list {shown(name)}: {len(found)} changes", desk):
            st.session_state[ROUND] = st.session_state.get(ROUND, 0) + 1
            done("The counted list is the stock now.")
            st.rerun()


def _row(change: Change) -> dict[str, str]:
    place = "" if change.file == STOCK.file else f"{change.file}: "
    cells = {
        "what": f"{place}{change.what}",
        "before": shown(change.before) if change.before is not None else "–",
        "now": change.note or (shown(change.after) if change.after is not None else "–"),
    }
    return {column: plain_markdown(cell) for column, cell in cells.items()}
