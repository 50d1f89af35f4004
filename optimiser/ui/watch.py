"""Watching a search: best, bound, the gap as a falling curve, and a Stop."""

from __future__ import annotations

import altair as alt
import pandas as pd
import streamlit as st

from optimiser.jobs import Job
from optimiser.report_base import money_text
from optimiser.search import Progress

EVERY_SECONDS = 0.5


def watch(job: Job[Progress, object], currency: str) -> None:
    """How a search goes, until it ends; then the page runs again."""
    if not job.done:
        _watching(job, currency)


@st.fragment(run_every=EVERY_SECONDS)
def _watching(job: Job[Progress, object], currency: str) -> None:
    if job.done:
        st.rerun()
    news = job.news
    last = news[-1] if news else None
    st.caption(last.doing if last else "building")
    if last is not None and last.best_cents is not None:
        st.metric("Best so far", money_text(last.best_cents, currency))
    points = gaps(news)
    if points:
        st.altair_chart(_curve(points, currency), alt="Gap between best and bound, by seconds")
    st.button("Stop, keep the best", on_click=job.stop, disabled=job.stopping, key="watch_stop")


def gaps(news: list[Progress]) -> list[tuple[float, float]]:
    """(seconds, gap in money) of every report that knows both best and bound."""
    return [
        (one.seconds, (one.bound_cents - one.best_cents) / 100)
        for one in news
        if one.best_cents is not None and one.bound_cents is not None
    ]


def _curve(points: list[tuple[float, float]], currency: str) -> alt.Chart:
    data = pd.DataFrame(points, columns=["seconds", "gap"])
    line = alt.Chart(data, height=140).mark_line(interpolate="step-after")
    chart: alt.Chart = line.encode(
        x=alt.X("seconds:Q", title="seconds"), y=alt.Y("gap:Q", title=f"still open, {currency}")
    )
    return chart
