"""Above the cabinet: which week, what it earns, and how good that is shown to be."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import streamlit as st

from optimiser.cafe import Cafe
from optimiser.cost_report import TERM_NAMES
from optimiser.formats import short_day
from optimiser.plan import TERMS, Plan
from optimiser.plan_diff import PlanDiff
from optimiser.report_base import money_text
from optimiser.week import Week


def title(week: Week, cafe: Cafe) -> None:
    """The days and the name of the cafe."""
    days = f"{short_day(week.open_dates[0])} – {short_day(week.last)}"
    st.html(f'<h1 class="week-title">{escape(days)} <small>{escape(cafe.name)}</small></h1>')


def sums(plan: Plan, bound: str, diff: PlanDiff | None, state: tuple[str, str]) -> None:
    """The margin, what is proven of it, what it is made of. `state`: a sign and words."""
    sign, words = state
    terms = "".join(
        f"<li><span>{escape(TERM_NAMES[term])}</span> "
        f"<b>{escape(money_text(plan.terms_cents[term], plan.currency))}</b></li>"
        for term in TERMS
        if plan.terms_cents[term]
    )
    st.html(
        f'<div class="sums"><p class="margin"><b>{_money(plan)}</b> margin of the week</p>'
        f'<div class="said"><p class="bound">{escape(bound)}</p>'
        f'<p class="state"><b aria-hidden="true">{sign}</b> {escape(words)}'
        f"{_changed(diff, plan)}</p></div>"
        f'<details class="terms"><summary>What it is made of</summary><ul>{terms}</ul></details>'
        "</div>"
    )


def _money(plan: Plan) -> str:
    return escape(money_text(plan.objective_cents, plan.currency))


def _changed(diff: PlanDiff | None, plan: Plan) -> str:
    """How much differs from the plan before."""
    if diff is None or not (diff.count or diff.more_cents):
        return ""
    places = "1 place" if diff.count == 1 else f"{diff.count} places"
    more = money_text(abs(diff.more_cents), plan.currency)
    earns = f"{more} {'more' if diff.more_cents > 0 else 'less'}" if diff.more_cents else "the same"
    return f" · Since the plan before: {places} changed, earns {escape(earns)}."


def reasons(heading: str, texts: Sequence[str], most: int = 8) -> None:
    """Why something is not as it should be, a line each."""
    more = [f"and {len(texts) - most} more"] if len(texts) > most else []
    lines = "".join(f"<li>{escape(text)}</li>" for text in [*texts[:most], *more])
    st.html(
        f'<div class="caution" role="note"><b>!</b><div>{escape(heading)}<ul>{lines}</ul>'
        "</div></div>"
    )
