"""Settings: the cafe, its courses, kitchen, guests and suppliers, history, files."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from optimiser.document import Document
from optimiser.ui import settings_forms as forms
from optimiser.ui import settings_lists as lists
from optimiser.ui.desk import Desk, desk
from optimiser.ui.door import leave, may_leave
from optimiser.ui.settings_draft import edit
from optimiser.ui.settings_files import files
from optimiser.ui.settings_history import history
from optimiser.ui.settings_law import law

EDITED: dict[str, Callable[[Document, str], Document]] = {
    "Café": forms.cafe_fields,
    "Courses": lists.courses,
    "Guests": lists.guests,
    "Kitchen": lists.kitchen,
    "Suppliers": lists.suppliers,
    "Money": forms.money_fields,
    "Measures and formats": forms.measure_fields,
    "Law": law,
}
"""Parts that are edited: what draws their fields."""

OTHER: dict[str, Callable[[Desk], None]] = {
    "History": history,
    "Backup and files": files,
}


def page() -> None:
    """Show the page."""
    here = desk()
    st.title("Settings")
    parts = [*EDITED, *OTHER]
    part = st.pills("Part of the settings", parts, default=parts[0], required=True)
    if part in EDITED:
        edit(part, here, EDITED[part])
    else:
        OTHER[part](here)
    if may_leave():
        st.button("Lock the page", on_click=leave)
