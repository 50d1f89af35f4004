"""The settings as rows and fields of text, to be edited and put back into cafe.toml.

What is no number goes back as the text that was typed, so that reading the tables says
where it stands and what is wrong with it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from optimiser.cafe import WEEKDAYS
from optimiser.document import Document
from optimiser.document_edits import with_settings
from optimiser.settings_file import COURSE_KEYS, MINUTE_KEYS
from optimiser.settings_values import text_of
from optimiser.table_cells import SLUG, iso_date

Cells = Mapping[str, str]

WORDS = ("name", "currency", "locale")
"""Settings that are texts whatever they look like."""


def settings_of(document: Document) -> dict[str, Any]:
    """The raw settings; fractions as they were typed."""
    return tomllib.loads(document.settings or "", parse_float=Decimal)


def typed(text: str) -> int | float | str | date | None:
    """A cell as TOML holds it: a number or a day where it is one, None where it is blank."""
    text = text.strip()
    try:
        return iso_date(text)
    except ValueError:
        pass
    try:
        number = Decimal(text)
    except InvalidOperation:
        return text or None
    if not number.is_finite():
        return text
    return int(number) if number == number.to_integral_value() else float(number)


def fields_of(document: Document, section: str, keys: Iterable[str]) -> dict[str, str]:
    """Some settings as text; blank: not set. `section`: the table they are in, or none."""
    found = settings_of(document)
    table = found.get(section, {}) if section else found
    return {key: text_of(table[key]) if key in table else "" for key in keys}


def with_fields(document: Document, section: str, cells: Cells) -> Document:
    """Some settings as typed; blank ones are taken out."""
    dot = f"{section}." if section else ""
    values = {key: cell.strip() or None if key in WORDS else typed(cell)
              for key, cell in cells.items()}  # fmt: skip
    return with_settings(document, {f"{dot}{key}": value for key, value in values.items()})


def course_rows(document: Document) -> list[dict[str, str]]:
    """A row a course; `plate`: how many of its dishes make a plate."""
    found = settings_of(document)
    plate = found.get("plate", {})
    return [
        {"course": course, **{key: text_of(row.get(key, "")) for key in COURSE_KEYS},
         "plate": text_of(plate.get(course, ""))}
        for course, row in found.get("courses", {}).items()
    ]  # fmt: skip


def with_courses(document: Document, rows: Iterable[Cells]) -> Document:
    """These courses and no others. Raises ValueError for names that cannot stand."""
    wanted: dict[str, Cells] = {}
    for row in rows:
        course = row.get("course", "").strip()
        if not SLUG.fullmatch(course):
            raise ValueError(f"{course or 'a blank'} is no name of a course; use a-z, 0-9 and _")
        if course in wanted:
            raise ValueError(f"the course {course} is there twice; keep one")
        wanted[course] = row
    changed: dict[str, Any] = {}
    for course in settings_of(document).get("courses", {}):
        if course not in wanted:
            changed |= {f"courses.{course}": None, f"plate.{course}": None}
    for course, row in wanted.items():
        changed |= {f"courses.{course}.{key}": typed(row.get(key, "")) for key in COURSE_KEYS}
        changed[f"plate.{course}"] = typed(row.get("plate", ""))
    return with_settings(document, changed)


def kitchen_rows(document: Document) -> list[dict[str, str]]:
    """A row a station with its minutes by weekday; a row of blanks: no limit."""
    kitchen = settings_of(document).get("kitchen", {})
    return [{"station": key, **_minutes(kitchen.get(key))} for key in MINUTE_KEYS]


def _minutes(raw: Any) -> dict[str, str]:
    if isinstance(raw, Mapping):
        return {day: text_of(raw[day]) if day in raw else "" for day in WEEKDAYS}
    return dict.fromkeys(WEEKDAYS, "" if raw is None else text_of(raw))


def with_kitchen(document: Document, rows: Iterable[Cells]) -> Document:
    """Minutes as typed; what has not changed stays as it was written."""
    before = {row["station"]: row for row in kitchen_rows(document)}
    changed: dict[str, Any] = {}
    for row in rows:
        station = row["station"]
        minutes = {day: row.get(day, "").strip() for day in WEEKDAYS}
        if {"station": station, **minutes} == before.get(station):
            continue
        if not any(minutes.values()):
            changed[f"kitchen.{station}"] = None
            continue
        changed |= {f"kitchen.{station}.{day}": typed(cell) for day, cell in minutes.items()}
    return with_settings(document, changed)
