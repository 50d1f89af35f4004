"""`week.pdf`: the week on paper, typeset by `sheets.typ` from words that are ready to print.

Fonts are those inside the typesetter; only where they lack a letter are the machine's
asked. Nothing is fetched, and the same contents give the same bytes.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from importlib.resources import files

import typst

from optimiser.sheets import Contents
from optimiser.sheets_words import Words, page_words

ACCESSIBLE, PLAIN = "ua-1", "1.7"
"""PDF/UA-1 (ISO 14289-1): tagged, titled, its language set, a font for every letter.
PDF 1.7 (ISO 32000-1) is tagged too, but may lack letters."""

LETTERS_LACK = (
    "No font on this machine has some letter of this file, and it may be missing here; "
    "week.xlsx and the CSV files have it."
)


def pdf(shown: Contents) -> bytes:
    """The bytes of the document."""
    words = page_words(shown)
    for system_fonts in (False, True):
        try:
            return typeset(words, shown.planned_on, system_fonts)
        except typst.TypstError:
            continue  # a letter without a font, or a fault that shows again below
    words["care"] = [LETTERS_LACK, *shown.care]
    return typeset(words, shown.planned_on, system_fonts=True, standard=PLAIN)


def typeset(
    words: Words, made: date, system_fonts: bool = False, standard: str = ACCESSIBLE
) -> bytes:
    """The document as a PDF of a standard. Raises typst.TypstError."""
    return typst.compile(
        files("optimiser").joinpath("sheets.typ").read_bytes(),
        sys_inputs={"week": json.dumps(words)},
        ignore_system_fonts=not system_fonts,
        pdf_standards=[standard],  # type: ignore[list-item]
        timestamp=datetime(made.year, made.month, made.day, tzinfo=UTC),
    )
