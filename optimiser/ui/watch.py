"""Watching a search: best, bound, the gap as a falling curve, and a Stop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import Any

import altair as alt
import pandas as pd
import streamlit as st

from optimiser.jobs import Job
from optimiser.progress import Progress
from optimiser.report_base import money_text

EVERY_SECONDS = 0.5
CURVE_HEIGHT = 165


def watch(
    job: Job[Progress, Any], currency: str, doing: str = "", nothing: str = "no week"
) -> None:
    """How a search goes, until it ends; then the page runs again.

    `doing`: what to say for a job that brings no news of its own. `nothing`: what does not earn
    more than the bound.
    """
    if job.done:
        st.rerun()
    _watching(job, currency, doing, nothing)


@st.fragment(run_every=EVERY_SECONDS)
def _watching(job: Job[Progress, Any], currency: str, doing: str, nothing: str) -> None:
    if job.done:
        st.rerun()
    news = job.news
    last = news[-1] if news else None
    with st.container(border=True, key="watch"):
        left, right = st.columns([3, 2], vertical_alignment="center")
        with left:
            st.html(_words(last, job, currency, doing, nothing))
            if last is not None or not doing:
                _stop(job, last)
        points = gaps(news)
        if points:  # nothing new is news as well: the curve goes on
            points.append((max(job.seconds, points[-1][0]), points[-1][1]))
        if len(points) > 1:
            right.altair_chart(
                _curve(points, currency),
                height=CURVE_HEIGHT,
                alt=f"Money still open, falling to {points[-1][1]:.2f} {currency}",
            )


def _stop(job: Job[Progress, Any], last: Progress | None) -> None:
    has_week = last is not None and last.best_cents is not None
    label = "Stopping…" if job.stopping else "Stop, keep the best" if has_week else "Stop"
    st.button(label, on_click=job.stop, disabled=job.stopping, key="watch_stop", type="primary")


def _words(
    last: Progress | None, job: Job[Progress, Any], currency: str, doing: str, nothing: str
) -> str:
    """What is known so far, in words."""
    said = doing or (last.doing if last else "building the week")
    numbers = ""
    if last is not None and last.best_cents is not None:
        numbers = f"<p><b>{escape(money_text(last.best_cents, currency))}</b> best so far"
        if last.bound_cents is not None and math.isfinite(last.bound_cents):
            most = escape(money_text(last.bound_cents, currency))
            still = escape(money_text(max(0.0, last.bound_cents - last.best_cents), currency))
            numbers += f" · {nothing} earns more than <b>{most}</b> · <b>{still}</b> still open"
        numbers += "</p>"
    said += f", {job.seconds:.0f} s"
    return f'<div class="watch" role="status">{numbers}<p>{escape(said)}</p></div>'


def gaps(news: Sequence[Progress]) -> list[tuple[float, float]]:
    """(seconds, gap in money) of every report that knows both best and bound."""
    return [
        (one.seconds, max(0.0, one.bound_cents - one.best_cents) / 100)
        for one in news
        if one.best_cents is not None
        and one.bound_cents is not None
        and math.isfinite(one.bound_cents)
    ]


def _curve(points: list[tuple[float, float]], currency: str) -> alt.Chart:
    data = pd.DataFrame(points, columns=["seconds", "gap"])
    area = alt.Chart(data, title=alt.TitleParams(f"still open, {currency}", fontSize=12))
    chart: alt.Chart = area.mark_area(interpolate="step-after", line=True, fillOpacity=0.2).encode(
        x=alt.X("seconds:Q", title="seconds", axis=alt.Axis(tickCount=4, grid=False)),
        y=alt.Y("gap:Q", title=None, axis=alt.Axis(tickCount=3)),
    )
    return chart
