"""What law the labels follow, as far as the program knows it."""

from __future__ import annotations

import streamlit as st

from optimiser.allergens import KNOWN_ALLERGENS, LAW_WORDS
from optimiser.label_report import CHECK_LABELS, COLD, HOT, KEEP
from optimiser.ui.desk import Desk
from optimiser.ui.look import warn

SOURCES = {"eu": "Regulation (EU) 1169/2011, Annex II", "anz": "FSANZ code, Schedule 9"}


def law(here: Desk) -> None:
    """Allergens by law, and what labels say of holding food."""
    warn("Your local food-safety code and the products' labels come first.")
    rows = [
        {
            "Allergens named by law": f"{LAW_WORDS[key]}: {SOURCES[key]}",
            "Only there": ", ".join(sorted(_words(names - _other(key)))) or "none",
        }
        for key, names in KNOWN_ALLERGENS.items()
    ]
    st.table(rows, hide_index=True, alt="Allergens that only one of the laws names")
    st.caption("Labels printed here name what either law knows.")
    st.subheader("On the labels")
    for line in (HOT, COLD, KEEP, CHECK_LABELS):
        st.markdown(f"- {line}")
    st.caption("Temperatures: Food Standards Code, Standard 3.2.2 (Australia).")


def _other(key: str) -> frozenset[str]:
    return frozenset().union(*(names for law, names in KNOWN_ALLERGENS.items() if law != key))


def _words(names: frozenset[str]) -> list[str]:
    return [name.replace("_", " ") for name in names]
