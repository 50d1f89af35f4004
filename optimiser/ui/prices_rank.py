"""Which prices the week depends on: a ranked table with bars."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import pandas as pd
import streamlit as st

from optimiser.exposure import RISE, Exposure
from optimiser.questions import WhatItHangsOn
from optimiser.report_base import money_text
from optimiser.ui.ask import answer, ask_button
from optimiser.ui.at_hand import AtHand, said

UNKNOWN = "not known"
HALF = round(RISE * 100) - 100


def ranking(view: AtHand) -> None:
    """Ask for the ranking, or show it."""
    question = WhatItHangsOn()
    found = answer(view, question)
    if found is None:
        said("What a rise of each price would cost, and how near the next price that matters is.")
    ask_button(view, question, "Rank what the week depends on", primary=True)
    if found:
        said(_sentence(found[0], view.desk.cafe.currency))
        _table(found, view.desk.cafe.currency)
        st.html(
            '<p class="within">Exact with this menu, or changing one cook, on the same days of '
            "delivery. A minus: the change brings more than the rise costs. A usual month is "
            "worked out from the price history.</p>"
        )


def _sentence(first: Exposure, currency: str) -> str:
    if first.loss_usual_cents is not None and first.usual_move_pct is not None:
        loss = money_text(first.loss_usual_cents, currency)
        return (
            f"Most depends on {first.name}: if it rises as it does in a usual month, "
            f"by {first.usual_move_pct:.0f} %, this menu costs {loss} more."
        )
    loss = money_text(first.loss_kept_cents, currency)
    return f"Most depends on {first.name}: {HALF} % dearer, this menu costs {loss} more."


def _table(found: Sequence[Exposure], currency: str) -> None:
    most = max((row.loss_kept_cents for row in found), default=0.0) / 100
    data = pd.DataFrame(
        [
            (
                row.name,
                row.loss_kept_cents / 100,
                row.loss_changed_cents / 100,
                row.spend_cents / 100,
                UNKNOWN if row.usual_move_pct is None else f"{row.usual_move_pct:.0f} %",
                _usual(row, currency),
                _next(row),
            )
            for row in found
        ],
        columns=["what", "kept", "changed", "spent", "move", "usual", "next"],
    )
    money = f"%.2f {currency}"
    bar = partial(
        st.column_config.ProgressColumn, format=money, min_value=0.0, max_value=max(most, 0.01)
    )
    st.dataframe(
        data,
        hide_index=True,
        width="stretch",
        alt="Ingredients by what a rise of their price costs",
        column_config={
            "what": st.column_config.TextColumn("ingredient", pinned=True),
            "kept": bar(f"+{HALF} %, menu kept"),
            "changed": bar(f"+{HALF} %, one cook changed"),
            "spent": st.column_config.NumberColumn("spent this week", format=money),
            "move": st.column_config.TextColumn("usual move a month"),
            "usual": st.column_config.TextColumn("a usual rise costs"),
            "next": st.column_config.TextColumn("menu changes at"),
        },
    )


def _usual(row: Exposure, currency: str) -> str:
    return UNKNOWN if row.loss_usual_cents is None else money_text(row.loss_usual_cents, currency)


def _next(row: Exposure) -> str:
    if row.next_break is not None:
        return f"{row.next_break:.2f} × today's"
    if row.searched_to is not None:
        return f"not up to {row.searched_to:g} ×"
    return "not looked for"
