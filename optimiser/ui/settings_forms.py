"""Fields of the settings: the cafe, money, measures and how things are written."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import streamlit as st

from optimiser.cafe import WEEKDAYS
from optimiser.document import Document
from optimiser.document_edits import with_settings
from optimiser.formats import parse_locale, written_as
from optimiser.report_base import day_text, money_text, number_text
from optimiser.settings_tables import fields_of, settings_of, with_fields

PER_ROW = 2
EXAMPLE_DAY, EXAMPLE_CENTS, EXAMPLE_NUMBER = date(2026, 11, 30), 123_450, 1234.5
SUGGESTED = ("en_AU", "en_NZ", "en_GB", "en_IE", "en_CA", "en_US", "de_AT", "de_CH", "de_DE",
             "fr_FR", "it_IT", "es_ES", "nl_NL", "sv_SE", "da_DK", "ja_JP")  # fmt: skip

CAFE = {
    "name": ("Name", ""),
    "week": ("First day to plan", "the next Monday, or YYYY-MM-DD"),
    "plan_ahead_days": ("Orders go out before the week, days", "3"),
}
MONEY = {
    "waste_cost_pct": ("Binned food is charged at, % of its cost", "100"),
    "disposal_cents_per_kg": ("Disposal of binned food, cents per kg", "20"),
    "left_whole_pct": ("Left whole pieces are worth, %", "80"),
    "left_loose_pct": ("Left fresh loose food is worth, %", "30"),
    "left_lasting_pct": ("Left onions and roots are worth, %", "70"),
    "left_dry_pct": ("Left dry goods and tins are worth, %", "95"),
    "appeal_cents": ("A point of appeal is worth, cents", "200"),
    "extra_portion_steps": ("Portions may leave the best count by, steps", "0"),
}
MEASURES = {
    "cup_ml": ("A cup, ml", "250"),
    "tbsp_ml": ("A tablespoon, ml", "20"),
    "currency": ("Currency, three letters", "AUD"),
}
Fields = Mapping[str, tuple[str, str]]
"""Key -> its label with the unit, and what holds if it is blank."""


def cafe_fields(document: Document, key: str) -> Document:
    """Name, open days, the week."""
    document = _fields(document, "", CAFE, key)
    now = settings_of(document).get("open_days", list(WEEKDAYS[:6]))
    chosen = st.pills(
        "Open days",
        WEEKDAYS,
        selection_mode="multi",
        default=[day for day in WEEKDAYS if day in now],
        format_func=str.capitalize,
        key=f"{key}_open",
    )
    if set(chosen) == set(now):
        return document
    return with_settings(document, {"open_days": [day for day in WEEKDAYS if day in chosen]})


def money_fields(document: Document, key: str) -> Document:
    """What a chef may argue with."""
    return _fields(document, "money", MONEY, key)


def measure_fields(document: Document, key: str) -> Document:
    """Measures, currency, and how money, days and numbers are written."""
    document = _fields(document, "", MEASURES, key)
    now = fields_of(document, "", ["locale", "currency"])
    offered = list(dict.fromkeys(["", now["locale"], *SUGGESTED]))
    chosen = st.selectbox(
        "Money, days and numbers are written as in",
        offered,
        offered.index(now["locale"]),
        format_func=_place_words,
        accept_new_options=True,
        key=f"{key}_locale",
    )
    document = with_fields(document, "", {"locale": chosen or ""})
    st.caption(f"For example: {_example(chosen or '', now['currency'] or 'AUD')}")
    return document


def _place_words(code: str) -> str:
    if not code:
        return "plain English, days as 2026-11-30"
    try:
        return f"{parse_locale(code).english_name} ({code})"
    except ValueError:
        return code


def _example(code: str, currency: str) -> str:
    """An amount, a day and a number as they would be written."""
    try:
        with written_as(code or None):
            parts = (money_text(EXAMPLE_CENTS, currency), day_text(EXAMPLE_DAY))
            return " · ".join((*parts, number_text(EXAMPLE_NUMBER))).replace("$", r"\$")
    except ValueError as error:
        return str(error)


def _fields(document: Document, section: str, fields: Fields, key: str) -> Document:
    """Text fields, two beside each other."""
    now = fields_of(document, section, fields)
    cells: dict[str, str] = {}
    names = list(fields)
    for start in range(0, len(names), PER_ROW):
        for box, name in zip(st.columns(PER_ROW), names[start : start + PER_ROW], strict=False):
            label, blank = fields[name]
            cells[name] = box.text_input(
                label, now[name], key=f"{key}_{name}", placeholder=blank and f"blank: {blank}"
            )
    changed = {name: cell for name, cell in cells.items() if cell.strip() != now[name]}
    return with_fields(document, section, changed) if changed else document
