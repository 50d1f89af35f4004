"""What could stand in a dish's place: the best first, each with what it would cost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import streamlit as st

from optimiser import wishes
from optimiser.cabinet_view import Tray
from optimiser.formats import short_day
from optimiser.plan import Plan
from optimiser.report_base import money_text
from optimiser.rules.base import Rule
from optimiser.swap_job import SwapJob, leave, start_swaps, swap_key
from optimiser.swaps import SwapCost
from optimiser.ui.desk import Desk
from optimiser.ui.plain import plain_markdown
from optimiser.ui.watch import EVERY_SECONDS
from optimiser.ui.week_wishes import close_when_done, wish_button

KEY = "week_swaps"
MOST = 6
"""Swaps with a button of their own; the rest can be chosen from a list."""


def swaps(desk: Desk, plan: Plan, number: int, tray: Tray) -> None:
    """The list, as soon as it is worked out; a swap holds for all days of that cook."""
    key = swap_key(desk.place, desk.revision, number, tray.dish, tray.cooked_on)
    if st.session_state.get(KEY) != key:
        leave(st.session_state.get(KEY))
        st.session_state[KEY] = key
    job = start_swaps(key, desk.week, plan, tray.dish, tray.cooked_on)
    _list(job, desk, plan, tray)


@st.fragment(run_every=EVERY_SECONDS)
def _list(job: SwapJob, desk: Desk, plan: Plan, tray: Tray) -> None:
    close_when_done()
    days = cook_days(plan, tray)
    when = ", ".join(short_day(day) for day in days)
    st.markdown(f"**Swap it** ({when})")
    if not job.done:
        st.caption(f"Working out what each swap costs, {job.seconds:.0f} s")
    elif job.error:
        st.caption(plain_markdown(job.error))
    found = job.result or []
    possible = [one for one in found if one.gain_cents is not None]
    with st.container(key="swaps", gap="xsmall"):
        for swap in possible[:MOST]:
            _button(desk, tray, swap.dish, f"{swap.name} · {_cost(swap, plan)}", days)
    if job.done and not job.error and not possible:
        st.caption("No other dish could simply take its place.")
    _any_dish(desk, plan, tray, found, days)


def cook_days(plan: Plan, tray: Tray) -> tuple[date, ...]:
    """The days on which the cook that this tray comes from is shown."""
    return tuple(
        row.date for row in plan.shown if (row.dish, row.cooked_on) == (tray.dish, tray.cooked_on)
    )


def _any_dish(
    desk: Desk,
    plan: Plan,
    tray: Tray,
    found: Sequence[SwapCost],
    days: tuple[date, ...],
) -> None:
    """Every other dish of the course, with what is in its way."""
    there = {dish for day in days for dish in plan.dishes_on(day)}
    others = sorted(
        (one.id for one in desk.cafe.dishes.values() if one.course == tray.course),
        key=desk.cafe.name_of,
    )
    said = {swap.dish: swap for swap in found}

    def label(dish: str) -> str:
        name, swap = desk.cafe.name_of(dish), said.get(dish)
        if swap is None:
            return name
        return f"{name} · {_cost(swap, plan)}"

    chosen = st.selectbox(
        "Or any other dish",
        [dish for dish in others if dish not in there],
        index=None,
        format_func=label,
        placeholder="Choose a dish",
        key="swap_choice",
    )
    if chosen is not None:
        name = desk.cafe.name_of(chosen)
        _button(desk, tray, chosen, f"Swap for {name}", days)


def _button(desk: Desk, tray: Tray, dish: str, label: str, days: tuple[date, ...]) -> None:
    when = ", ".join(short_day(day) for day in days)
    message = f"{desk.cafe.name_of(dish)} instead of {tray.name}: {when}"

    def wish(rules: Sequence[Rule]) -> tuple[Rule, ...]:
        return wishes.swap_dish(rules, tray.dish, dish, days)

    wish_button(desk, label, message, wish, wide=True)


def _cost(swap: SwapCost, plan: Plan) -> str:
    """What a swap does to the week's margin, or what is in its way."""
    if swap.gain_cents is None:
        return f"in the way: {', '.join(swap.blocked_by)}"
    cents = round(swap.gain_cents)
    about = "" if swap.exact else "about "
    if cents == 0:
        return f"{about}the same margin"
    money = money_text(abs(cents), plan.currency)
    return f"{about}earns {money} more" if cents > 0 else f"{about}costs {money}"
