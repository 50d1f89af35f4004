"""Backup and restore, and the tables as a folder or workbook, in and out."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from optimiser.book import write_book
from optimiser.document import Document, faults_of
from optimiser.document_changes import changes
from optimiser.exchange import (
    MAX_BACKUP_MB,
    MAX_TABLES_MB,
    UploadFault,
    folder_zip,
    read_backup,
    read_tables_file,
    store_backup,
)
from optimiser.rules.words import counted
from optimiser.store import StoreFault
from optimiser.store_faults import change_lines
from optimiser.table_faults import TableFaults, shown
from optimiser.ui.desk import Desk, open_store, save, show_faults
from optimiser.ui.plain import plain_markdown
from optimiser.ui.sheet_files import XLSX_TYPE

ROUND = "settings_upload_round"
"""In the session: how many files were taken, so that each gets a fresh field."""


def files(here: Desk) -> None:
    """The buttons and fields."""
    st.subheader("Take away")
    with st.container(horizontal=True):
        st.download_button("Backup of everything", _backup, "cabinet_backup.db",
                           "application/vnd.sqlite3", on_click="ignore")  # fmt: skip
        st.download_button("Tables as a folder (ZIP)", folder_zip(here.document),
                           "tables.zip", "application/zip", on_click="ignore")  # fmt: skip
        st.download_button("Tables as a workbook (XLSX)", lambda: write_book(here.document),
                           "tables.xlsx", XLSX_TYPE, on_click="ignore")  # fmt: skip
    st.subheader("Bring in")
    st.caption("Looked at before anything is saved. The history stays, so it can be undone.")
    _field(here, "Tables: a ZIP of the folder, or a workbook", ["zip", "xlsx"], MAX_TABLES_MB,
           _read_tables)  # fmt: skip
    _field(here, "Restore: the tables of a backup", ["db"], MAX_BACKUP_MB, _read_backup)


def _backup() -> bytes:
    with open_store() as store:
        return store_backup(store)


def _read_tables(name: str, content: bytes) -> tuple[Document, str]:
    return read_tables_file(name, content), f"Taken from {name}"


def _read_backup(name: str, content: bytes) -> tuple[Document, str]:
    kept, document = read_backup(name, content)
    faults = faults_of(document)
    if faults is not None:
        raise faults
    return document, f"Restored from {name}, {kept}"[:500]


def _field(
    here: Desk,
    label: str,
    kinds: list[str],
    most_mb: int,
    read: Callable[[str, bytes], tuple[Document, str]],
) -> None:
    """A field for a file; what it would change, and the button that takes it."""
    key = f"settings_{kinds[0]}_{st.session_state.get(ROUND, 0)}"
    given = st.file_uploader(label, type=kinds, max_upload_size=most_mb, key=key)
    if given is None:
        return
    name = shown(given.name)
    try:
        document, message = read(name, given.getvalue())
    except (UploadFault, StoreFault) as fault:
        st.error(plain_markdown(str(fault)))
        return
    except TableFaults as faults:
        st.error(plain_markdown(f"{name}: nothing was taken. Please mend:"))
        show_faults(faults.faults)
        return
    told = changes(here.document, document)
    if not told:
        st.success(plain_markdown(f"{name} says what the tables say already."))
        return
    st.markdown("\n".join(f"- {plain_markdown(line.strip())}" for line in change_lines(told)))
    if st.button(f"Take {counted(len(told), 'change')}", type="primary", key=f"take_{key}"):
        if save(document, message, here):
            st.session_state[ROUND] = st.session_state.get(ROUND, 0) + 1
            st.rerun()
