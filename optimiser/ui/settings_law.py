"""The law that labels and sheets follow, as far as the program knows it."""

from __future__ import annotations

import streamlit as st

from optimiser.allergens import KNOWN_ALLERGENS, LAW_WORDS
from optimiser.document import Document
from optimiser.food_code import CODES, USUAL
from optimiser.label_report import CHECK_LABELS
from optimiser.settings_tables import fields_of, with_fields
from optimiser.ui.look import warn

SOURCES = {"eu": "Regulation (EU) 1169/2011, Annex II", "anz": "FSANZ code, Schedule 9"}


def law(document: Document, key: str) -> Document:
    """Which law holds for hot, cold and cooling; allergens by law."""
    warn("Your local food-safety code and the products' labels come first.")
    now = fields_of(document, "", ["regime"])["regime"] or USUAL
    chosen = st.selectbox(
        "Heat, cold and cooling on labels as in",
        list(CODES),
        list(CODES).index(now) if now in CODES else 0,
        format_func=lambda code: CODES[code].where,
        key=f"{key}_regime",
    )
    lines = (*CODES[chosen].sentences, CHECK_LABELS)
    st.markdown("\n".join(f"- {line}" for line in lines))
    st.caption(f"After: {CODES[chosen].source}.")
    _allergens()
    return document if chosen == now else with_fields(document, "", {"regime": chosen})


def _allergens() -> None:
    """What only one of the laws names; labels here name what either does."""
    rows = [
        {
            "Allergens by law": f"{LAW_WORDS[law]}: {SOURCES[law]}",
            "Named only there": ", ".join(sorted(_words(names - _others(law)))) or "none",
        }
        for law, names in KNOWN_ALLERGENS.items()
    ]
    st.table(rows, hide_index=True, alt="Allergens that only one of the laws names")
    st.caption("Labels printed here name what either law knows.")


def _others(law: str) -> frozenset[str]:
    return frozenset().union(*(names for one, names in KNOWN_ALLERGENS.items() if one != law))


def _words(names: frozenset[str]) -> list[str]:
    return [name.replace("_", " ") for name in names]
