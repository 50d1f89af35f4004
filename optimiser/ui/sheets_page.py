"""Sheets: what is printed and hung up, chosen by day, supplier or station."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import streamlit as st

from optimiser import sheets_html as paper
from optimiser.present import Present
from optimiser.report_base import Cell, day_text
from optimiser.sheets import Contents
from optimiser.sheets_now import PlanSheets, choices, narrowed, plan_sheets
from optimiser.ui.desk import Desk, desk, desk_at, present_of
from optimiser.ui.look import chips, empty, warn
from optimiser.ui.sheet_files import downloads
from optimiser.ui.ways import link

STYLE_FILE = Path(__file__).with_name("sheets.css")
PRINT = """<button type="button" class="print-button" id="print-sheet">Print this sheet</button>
<script>document.getElementById("print-sheet").onclick = () => window.print();</script>"""

SHEETS: dict[str, tuple[str, dict[str, str], Callable[[Contents], str]]] = {
    "Week": ("week", {"date": "Day"}, lambda shown: paper.week_board(shown, chips)),
    "Orders": (
        "order",
        {"supplier_name": "Supplier", "deliver_on": "Delivery"},
        paper.order_list,
    ),
    "Prep": ("prep", {"date": "Day", "station": "Station"}, paper.prep_list),
    "Recipes": ("prep", {"cook_on": "Day of cooking"}, paper.recipes),
    "Labels": ("labels", {"cooked_on": "Day of cooking"}, paper.labels),
    "Use up": ("use_up", {}, paper.use_up),
    "Costs": ("costs", {}, paper.costs),
}
"""Name -> its report, the columns to choose by with their names, how it is drawn."""


def page() -> None:
    """Show the page."""
    st.html(STYLE_FILE)
    here = desk()
    st.title("Sheets")
    found = present_of(here)
    if found is None:
        empty("Nothing to print yet", "Plan a week first; its sheets are then here.")
        link("The week", "Plan the week")
        return
    sheets = _sheets(here, found)
    if sheets is None:
        _not_valid(found)
        return
    _state(sheets)
    shown = sheets.contents()
    name = st.segmented_control("Sheet", list(SHEETS), default="Week", required=True)
    report, columns, draw = SHEETS[name]
    chosen = _choose(shown, report, columns)
    st.html(PRINT, unsafe_allow_javascript=True)
    st.html(draw(narrowed(shown, report, chosen)))
    downloads(sheets, here, found)


def _sheets(here: Desk, found: Present) -> PlanSheets | None:
    then = here if not found.stale else desk_at(found.revision)
    if then is None:
        st.error(f"The tables that this plan was made of (revision {found.revision}) are gone.")
        link("The week", "Plan the week again")
        st.stop()
    return plan_sheets(found, here.reading, then.reading)


def _not_valid(found: Present) -> None:
    """A plan that fails its check is not shown as a week to cook."""
    st.error("The kept plan does not pass its check, so nothing of it is printed.")
    for breach in found.breaches[:5]:
        st.text(f"· {breach.text}")
    link("The week", "Plan the week again")


def _state(sheets: PlanSheets) -> None:
    """Whether these are the sheets of the present tables."""
    if not sheets.stale:
        st.caption("✓ Checked: this week keeps every hard rule of the present tables.")
        return
    warn(sheets.stale)
    for text in sheets.broken:
        st.text(f"· {text}")
    link("The week", "Plan the week again")


def _choose(shown: Contents, report: str, columns: dict[str, str]) -> dict[str, Cell]:
    """A box for each column to choose by; None: all."""
    chosen: dict[str, Cell] = {}
    if not columns:
        return chosen
    boxes = st.columns(len(columns))
    for box, (column, name) in zip(boxes, columns.items(), strict=True):
        offered: list[Cell] = [None, *choices(shown, report, column)]
        chosen[column] = box.selectbox(
            name, offered, format_func=_said, key=f"sheet_{report}_{column}"
        )
    return chosen


def _said(cell: Cell) -> str:
    if cell is None:
        return "All"
    return day_text(cell) if isinstance(cell, date) else str(cell).replace("_", " ")
