"""What a person may ask of a dish or a day of the cabinet; each wish is a saved rule."""

from __future__ import annotations

from datetime import date

import streamlit as st

from optimiser import wishes
from optimiser.cabinet_view import Tray, fronts
from optimiser.formats import short_day
from optimiser.plan import Plan
from optimiser.report_base import number_text
from optimiser.ui import week_swaps
from optimiser.ui.desk import Desk
from optimiser.ui.look import chips
from optimiser.ui.plain import plain_markdown
from optimiser.ui.week_wishes import close_when_done, page_runs, wish_button

PICK = "week_pick"


def pick(parts: list[str]) -> None:
    """Remember what was pressed in the cabinet until the page runs."""
    st.session_state[PICK] = parts


def open_picked(desk: Desk, plan: Plan, number: int) -> None:
    """The dialog of what was pressed, if that is still there. `number`: of the plan."""
    parts = st.session_state.pop(PICK, None)
    page_runs()
    if parts is None:
        return
    day = date.fromisoformat(parts[1])
    if parts[0] == "day" and plan.dishes_on(day):
        _day_dialog(desk, plan, day)
    elif parts[0] == "dish" and parts[2] in plan.dishes_on(day):
        _dish_dialog(desk, plan, number, day, parts[2])


@st.dialog("Change this dish", width="small")
def _dish_dialog(desk: Desk, plan: Plan, number: int, day: date, dish: str) -> None:
    close_when_done()
    tray = _tray(desk, plan, day, dish)
    when = short_day(day)
    st.subheader(plain_markdown(tray.name), anchor=False)
    st.html(_facts(tray))
    with st.container(horizontal=True):
        if tray.kept:
            wish_button(
                desk,
                "Let it go again",
                f"{tray.name} is free again on {when}",
                lambda rules: wishes.free_dish(rules, dish, day),
            )
        else:
            wish_button(
                desk,
                f"Keep on {when}",
                f"Keep {tray.name} on {when}",
                lambda rules: wishes.keep_dish(rules, dish, day),
            )
        wish_button(
            desk,
            f"Not on {when}",
            f"No {tray.name} on {when}",
            lambda rules: wishes.bar_dish(rules, dish, day),
        )
        wish_button(
            desk,
            "Never",
            f"No {tray.name} on any day",
            lambda rules: wishes.bar_dish(rules, dish, None),
        )
    week_swaps.swaps(desk, plan, number, tray)


@st.dialog("Change this day", width="small")
def _day_dialog(desk: Desk, plan: Plan, day: date) -> None:
    close_when_done()
    when = short_day(day)
    st.subheader(when, anchor=False)
    if wishes.is_kept_day(desk.reading.rules, day):
        wish_button(
            desk,
            "Let the day change again",
            f"{when} may change again",
            lambda rules: wishes.free_day(rules, day),
        )
    else:
        wish_button(
            desk,
            "Keep the whole day as it is",
            f"Keep {when} as it is",
            lambda rules: wishes.keep_day(rules, plan, day),
        )
    shown = plan.dishes_on(day)
    others = [
        one for course in desk.cafe.courses for one in _dishes(desk, course) if one not in shown
    ]
    dish = st.selectbox(
        "Put a dish on this day",
        others,
        index=None,
        placeholder="Choose a dish",
        format_func=lambda one: f"{desk.cafe.name_of(one)} ({desk.cafe.dishes[one].course})",
        key="put_choice",
    )
    if dish is not None:
        name = desk.cafe.name_of(dish)
        wish_button(
            desk,
            f"Put it on {when}",
            f"Put {name} on {when}",
            lambda rules: wishes.keep_dish(rules, dish, day),
        )


def _dishes(desk: Desk, course: str) -> list[str]:
    cafe = desk.cafe
    found = [one.id for one in cafe.dishes.values() if one.course == course]
    return sorted(found, key=cafe.name_of)


def _tray(desk: Desk, plan: Plan, day: date, dish: str) -> Tray:
    every = fronts(plan, desk.cafe, desk.reading.rules)
    trays = [tray for front in every for shelf in front.shelves for tray in shelf.trays]
    return next(tray for tray in trays if (tray.day, tray.dish) == (day, dish))


def _facts(tray: Tray) -> str:
    least = "" if tray.protein_known else "at least "
    tags = ", ".join(tag.full for tag in tray.tags)
    cooked = f", cooked {short_day(tray.cooked_on)}" if tray.cooked_on != tray.day else ""
    return (
        f"<p>{chips(tray.colours)} {tray.portions} portions{cooked} · "
        f"{least}{number_text(tray.protein_g)} g protein a portion"
        f"{' · ' + tags if tags else ''}</p>"
    )
