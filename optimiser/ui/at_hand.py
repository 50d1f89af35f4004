"""The plan that the pages of questions ask about, and whether it can be asked about at all."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import streamlit as st

from optimiser.near_kept import Ground, Spot, ground, spot_of
from optimiser.plan import Plan
from optimiser.present import Present
from optimiser.ui.desk import Desk, present_of
from optimiser.ui.desk import week as week_of_desk
from optimiser.ui.look import empty, warn
from optimiser.ui.ways import link
from optimiser.week import Week


@dataclass(frozen=True)
class AtHand:
    """The present plan with the tables that it is judged by."""

    desk: Desk
    week: Week
    present: Present

    @property
    def plan(self) -> Plan:
        """The present plan."""
        return self.present.plan

    @property
    def spot(self) -> Spot:
        """What is asked about."""
        return spot_of(self.desk.place, self.desk.revision, self.present)

    @property
    def ground(self) -> Ground:
        """Where the page's own quick questions are answered."""
        return ground(self.spot, self.week, self.plan)


def at_hand(desk: Desk) -> AtHand | None:
    """The present plan; None if there is none or its menu cannot be kept, which is then said."""
    week = week_of_desk(desk)
    present = present_of(desk)
    if present is None:
        empty(
            "No plan of this week yet", "Plan the week first: what is asked here is about its menu."
        )
        link("The week", "Open the week", "🗓️")
        return None
    found = AtHand(desk, week, present)
    if present.holds:
        if present.stale:
            said(
                "Asked of the plan made before your latest changes, at the tables as they are now."
            )
        return found
    return found if _can_be_kept(found) else None


def _can_be_kept(found: AtHand) -> bool:
    """Say what speaks against a plan; whether its menu can be kept all the same."""
    first, *more = found.present.breaches
    others = f", and {len(more)} more" if more else ""
    warn(f"The plan no longer works as it is: {first.text}{others}.")
    with st.spinner("Looking whether its menu can be kept…"):
        kept = found.ground.kept()
    if kept.margin_cents is not None:
        said("Its menu can be kept if it is bought for afresh: that is what is asked about here.")
        return True
    empty("Its menu cannot be kept", f"{_sentence(kept.why_not)} Plan the week again.")
    link("The week", "Open the week", "🗓️")
    return False


def _sentence(reason: str) -> str:
    return f"{reason[:1].upper()}{reason[1:]}."


def said(text: str, look: str = "said-line") -> None:
    """A sentence, shown as it is."""
    st.html(f'<p class="{look}">{escape(text)}</p>')
