"""The files of the sheets to take away. They are made when somebody asks for them."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

import streamlit as st

from optimiser.present import Present
from optimiser.sheets_now import OLD, PlanSheets
from optimiser.ui.desk import Desk

XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
KINDS = (
    ("Spreadsheet (XLSX)", "week.xlsx", XLSX_TYPE),
    ("PDF", "week.pdf", "application/pdf"),
    ("CSV files (ZIP)", "week_csv.zip", "application/zip"),
    ("Plan (JSON)", "plan.json", "application/json"),
)
NEWEST_DATE = (1980, 1, 1, 0, 0, 0)
"""Of the files in a ZIP: the same files give the same bytes."""


def downloads(sheets: PlanSheets, here: Desk, found: Present) -> None:
    """A button for each kind of file."""
    st.subheader("Take it away")
    if sheets.stale:
        st.caption(f"Files of an old plan: their names begin with `{OLD}`.")
    prefix = OLD if sheets.stale else ""
    key = f"{here.place}, revision {here.revision}, plan {found.number}"
    with st.container(horizontal=True):
        for label, name, mime in KINDS:
            st.download_button(
                label,
                data=_maker(sheets, key, name),
                file_name=prefix + name,
                mime=mime,
                key=f"take_{name}",
                on_click="ignore",
            )


def _maker(sheets: PlanSheets, key: str, name: str) -> Callable[[], bytes]:
    return lambda: _file(key, name, sheets)


@st.cache_data(max_entries=16, show_spinner=False)
def _file(key: str, name: str, _sheets: PlanSheets) -> bytes:
    """One file of a plan. `key` names the plan and the tables."""
    made = {path.removeprefix(OLD): content for path, content in _made(key, _sheets).items()}
    if name.endswith(".zip"):
        return _zip({path: text for path, text in made.items() if path.endswith(".csv")})
    content = made[name]
    return content.encode("utf-8") if isinstance(content, str) else content


@st.cache_data(max_entries=4, show_spinner=False)
def _made(key: str, _sheets: PlanSheets) -> dict[str, str | bytes]:
    return _sheets.files()


def _zip(files: dict[str, str | bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name, NEWEST_DATE), content)
    return packed.getvalue()
