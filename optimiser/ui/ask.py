"""Asking a long question: its button, its progress with a Stop, its answer."""

from __future__ import annotations

from typing import Literal, TypeVar

import streamlit as st

from optimiser.question_jobs import Answer, Asked, Question, answer_of, job_of
from optimiser.question_jobs import ask as begin
from optimiser.ui.at_hand import AtHand
from optimiser.ui.plain import plain_markdown
from optimiser.ui.watch import watch

R = TypeVar("R")

ONLY_HERE = "none of these menus"
"""Of which menus a bound speaks while a question is worked on: not of all weeks."""


def running(view: AtHand) -> bool:
    """The question that is worked on, with its progress. Once a page."""
    job = job_of(view.desk.place)
    if job is None or job.done or not isinstance(job.about, Asked):
        return False
    st.markdown(f"**{plain_markdown(job.about.question.words(view.desk.cafe))}**")
    watch(job, view.desk.cafe.currency, nothing=ONLY_HERE)
    return True


def is_running(view: AtHand) -> bool:
    """Whether a question of the store is worked on."""
    job = job_of(view.desk.place)
    return job is not None and not job.done


def ask_button(view: AtHand, question: Question[R], label: str, primary: bool = False) -> None:
    """A button that asks, where nothing is worked on and the answer is not there yet."""
    answer = answer_of(view.spot, question)
    complete = answer is not None and answer.error is None and not answer.stopped
    if is_running(view) or complete:
        return
    again = answer is not None
    kind: Literal["primary", "secondary"] = "primary" if primary and not again else "secondary"
    text = f"{label}, again" if again else label
    if st.button(plain_markdown(text), key=f"ask_{type(question).__name__}", type=kind):
        begin(view.spot, question, view.week, view.plan)
        st.rerun()


def answer(view: AtHand, question: Question[R]) -> R | None:
    """What a question came to, if that is known; an error is said."""
    found: Answer[R] | None = answer_of(view.spot, question)
    if found is None:
        return None
    if found.error is not None:
        st.warning(plain_markdown(found.error))
        return None
    if found.stopped:
        st.caption("Stopped before the end: this is what was found until then.")
    return found.found
