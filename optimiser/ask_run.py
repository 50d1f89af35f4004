"""Questions one after the other, watched on stderr; their answers printed or written."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.console import Console

from optimiser.answer import Answer
from optimiser.answer_out import csv_of, json_of, plan_files, print_answer, text_of
from optimiser.asking import Handing
from optimiser.plan_command import BAD_INPUT, DONE, IMPOSSIBLE, NO_PLAN
from optimiser.progress import Report
from optimiser.watched import Said, watched
from optimiser.write_out import write_out

STOPPING = "Stopping: what is known so far is kept. Ctrl-C again gives up."
FILE_WIDTH = 120
"""Characters across of text that goes into a file."""


@dataclass(frozen=True)
class Question:
    """`title` is said while `ask` works; it is handed where to report to."""

    title: str
    ask: Callable[[Report], Answer]


def ask_all(
    questions: Sequence[Question], currency: str, stop: threading.Event, handing: Handing
) -> list[Answer]:
    """Answers in the order asked. Once stopped, nothing more is asked: each question left over
    is told as not answered."""
    answers = []
    for question in questions:
        if stop.is_set():
            answer = _unanswered(question, "stopped before")
        else:
            answer = _asked(question, currency, stop)
        answers.append(answer)
        if handing.at_once:
            show(answer)
    return answers


def _asked(question: Question, currency: str, stop: threading.Event) -> Answer:
    said = Said(f"{question.title} ...", STOPPING)
    try:
        return watched(question.ask, stop, currency, said)
    except ValueError as error:  # of this question alone: the others may have answers
        return _unanswered(question, str(error))


def _unanswered(question: Question, why: str) -> Answer:
    return Answer(
        "unanswered", question.title, question.title, (why,), {"why": why}, complete=False
    )


def show(answer: Answer) -> None:
    """Print an answer as text."""
    console = Console()
    with console.capture() as printed:
        print_answer(console, answer)
    print(printed.get(), end="", flush=True)


def hand_over(
    answers: Sequence[Answer], head: Mapping[str, Any], told: Sequence[str], handing: Handing
) -> int:
    """Write or print what has not been printed yet; the exit code."""
    plans = plan_files(answers) if handing.plans is not None else {}
    if not handing.at_once:
        text = {
            "json": lambda: json_of(head, answers, bool(plans)),
            "csv": lambda: csv_of(answers),
            "text": lambda: "".join(f"{t}\n" for t in told) + text_of(answers, FILE_WIDTH),
        }[handing.form]()
        if not _put(handing.out, text):
            return BAD_INPUT
    if handing.plans is not None:
        try:
            write_out(handing.plans.resolve(), {n: plan.to_json() for n, plan in plans.items()})
        except OSError as error:
            print(f"--plans {handing.plans}: {error}; no plan was written", file=sys.stderr)
            return BAD_INPUT
    if any(answer.impossible for answer in answers):
        return IMPOSSIBLE
    return DONE if all(answer.complete for answer in answers) else NO_PLAN


def _put(out: Path | None, text: str) -> bool:
    """Text on stdout or into a file; False if the file could not be written."""
    if out is None:
        sys.stdout.write(text)
        sys.stdout.flush()
        return True
    place = out.resolve()
    try:
        write_out(place.parent, {place.name: text})
    except OSError as error:
        print(f"--out {out}: {error}; the answers were not written", file=sys.stderr)
        return False
    print(f"Written to {out}.", file=sys.stderr)
    return True
