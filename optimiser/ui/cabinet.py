"""The cabinet on the page: drawn by the browser from HTML, pressed like any button."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import streamlit as st

from optimiser.cabinet_view import Front
from optimiser.cafe import Cafe
from optimiser.ui.cabinet_html import cabinet_html, empty_html
from optimiser.week import Week

KEY = "cabinet"

_HERE = Path(__file__).parent


def _css() -> str:
    return (_HERE / "cabinet.css").read_text(encoding="utf-8")


@st.cache_resource(show_spinner=False)
def _component() -> Callable[..., object]:
    return st.components.v2.component(
        "cabinet_week_cabinet",
        html='<div class="cabinet"></div>',
        css=_css(),
        js=(_HERE / "cabinet.js").read_text(encoding="utf-8"),
        isolate_styles=False,  # chips look here as everywhere
    )


def empty_cabinet(week: Week) -> None:
    """The days and shelves of a week that has no plan."""
    st.html(f"<style>{_css()}</style>{empty_html(week)}")


def cabinet(
    fronts: Sequence[Front], cafe: Cafe, today: date, on_pick: Callable[[list[str]], None]
) -> None:
    """Show the days. `on_pick` gets what was pressed: `["dish", day, dish]` or
    `["day", day]`; it runs before the page does."""

    def picked() -> None:
        pick = st.session_state[KEY].pick
        if pick:
            on_pick(str(pick).split("|"))

    data = {"html": cabinet_html(fronts, cafe), "day": today.isoformat()}
    _component()(key=KEY, data=data, on_pick_change=picked)
