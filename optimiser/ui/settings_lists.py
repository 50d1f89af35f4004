"""Settings that are lists: courses, kitchen minutes, guests, suppliers."""

from __future__ import annotations

import streamlit as st

from optimiser.cafe import WEEKDAYS
from optimiser.document import Document
from optimiser.document_edits import rows_of, with_rows
from optimiser.settings_tables import (
    course_rows,
    fields_of,
    kitchen_rows,
    with_courses,
    with_fields,
    with_kitchen,
)
from optimiser.ui.row_editor import edit_rows

TEXT = st.column_config.TextColumn
COURSES = {
    "course": "Course",
    "slots": "Dishes a day",
    "price": "Price",
    "take_up": "Portions per guest",
    "portion_g": "Portion, g",
    "plate": "On a full plate",
}
STATIONS = {
    "hands_on_min": "Hands",
    "oven_min": "Oven",
    "hob_min": "Hob",
    "processor_min": "Processor",
}
COVERS = {
    "day": "Day",
    "covers": "Guests, middle",
    "low": "A quiet day",
    "high": "A busy day",
    "chances": "Or guests:chance",
}
SUPPLIERS = {
    "supplier": "Id",
    "name": "Name",
    "delivers": "Delivery days",
    "lead_days": "Order days before",
    "cut_off": "By",
    "minimum_order": "Minimum order",
    "delivery_fee": "Delivery fee",
}


def courses(document: Document, key: str) -> Document:
    """The courses of the cabinet."""
    columns = {name: TEXT(label) for name, label in COURSES.items()}
    edited = edit_rows(key, course_rows(document), columns, alt="The courses of the cabinet")
    return with_courses(document, edited)


def kitchen(document: Document, key: str) -> Document:
    """Minutes of each station by weekday."""
    now = kitchen_rows(document)
    columns = {"station": TEXT("Minutes", disabled=True)}
    columns |= {day: TEXT(day.capitalize()) for day in WEEKDAYS}
    named = [row | {"station": STATIONS[row["station"]]} for row in now]
    edited = edit_rows(key, named, columns, alt="Minutes of each station by weekday")
    ids = {label: station for station, label in STATIONS.items()}
    document = with_kitchen(
        document,
        [{**row, "station": ids[row["station"]]} for row in edited if row["station"] in ids],
    )
    st.caption("A row without minutes: no limit.")
    ahead = fields_of(document, "kitchen", ["cook_ahead_days"])["cook_ahead_days"]
    typed = st.text_input(
        "Dishes may be cooked before their first day, days", ahead, key=f"{key}_ahead"
    )
    if typed.strip() == ahead:
        return document
    return with_fields(document, "kitchen", {"cook_ahead_days": typed})


def guests(document: Document, key: str) -> Document:
    """Guests by weekday or date."""
    st.caption("A weekday (mon) or a date (2026-12-24); a date goes before its weekday.")
    return _table(document, "covers.csv", COVERS, key, "Guests expected by day")


def suppliers(document: Document, key: str) -> Document:
    """Suppliers and when they deliver."""
    st.caption("Delivery days as mon;thu. Order by the time given, so many days before.")
    return _table(document, "suppliers.csv", SUPPLIERS, key, "Suppliers and their deliveries")


def _table(document: Document, file: str, labels: dict[str, str], key: str, alt: str) -> Document:
    now = rows_of(document, file)
    columns = {name: TEXT(label) for name, label in labels.items()}
    edited = edit_rows(key, now, columns, alt)
    if [{name: row.get(name, "") for name in labels} for row in now] == [
        {name: row.get(name, "") for name in labels} for row in edited
    ]:
        return document
    return with_rows(document, file, edited)
