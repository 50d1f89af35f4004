"""Questions that take longer than a look: asked in the background, their answers kept.

One question of a store is worked on at a time. An answer outlives its job and the page that
asked, so that going to another page and coming back, or a reload, loses nothing.
"""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from optimiser import jobs
from optimiser.cafe import Cafe
from optimiser.jobs import Job, Told
from optimiser.near_kept import Ground, Spot, ground
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.progress import Progress
from optimiser.week import Week

QUESTION = "question"
MOST_ANSWERS = 60

R = TypeVar("R")
Report = Callable[[Progress], None]


@dataclass(frozen=True)
class Question(ABC, Generic[R]):
    """Something to be found out about the weeks near a plan; equal ones have one answer."""

    @abstractmethod
    def words(self, cafe: Cafe) -> str:
        """What is asked, as the beginning of a line."""

    @abstractmethod
    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> R:
        """The answer, or what is known of it when stopped. Raises ValueError with a reason."""


@dataclass(frozen=True)
class Asked:
    """A question about a plan."""

    spot: Spot
    question: Question[Any]


@dataclass(frozen=True)
class Answer(Generic[R]):
    """What a question came to. `found` is None if `error` says why; `stopped`: before its end."""

    found: R | None
    error: str | None
    stopped: bool


_answers: OrderedDict[Asked, Answer[Any]] = OrderedDict()
_lock = threading.Lock()


def ask(spot: Spot, question: Question[R], week: Week, plan: Plan) -> Job[Progress, R]:
    """Begin to work on a question; while another is worked on, that one goes on instead."""
    asked = Asked(spot, question)
    place = ground(spot, week, plan, for_jobs=True)

    def work(report: Report, stop: threading.Event) -> R:
        found: R = _work(asked, place, report, stop)
        return found

    return jobs.start((spot.place, QUESTION), work, about=asked)


def _work(asked: Asked, place: Ground, report: Report, stop: threading.Event) -> Any:
    try:
        with place.lent() as near:
            found: Any = asked.question.ask(near, report, stop)
    except ValueError as error:
        raise Told(f"This cannot be answered: {error}.") from error
    with _lock:
        _answers[asked] = Answer(found, None, stop.is_set())
        _answers.move_to_end(asked)
        while len(_answers) > MOST_ANSWERS:
            _answers.popitem(last=False)
    return found


def answer_of(spot: Spot, question: Question[R]) -> Answer[R] | None:
    """What a question came to; None if it was not asked or is still worked on."""
    job = job_of(spot.place)
    asked = Asked(spot, question)
    if job is not None and job.about == asked:
        if not job.done:
            return None
        if job.error is not None:
            return Answer(None, job.error, job.stopping)
    return _answers.get(asked)


def job_of(place: str) -> Job[Progress, Any] | None:
    """The latest question of a store."""
    return jobs.find((place, QUESTION))


def latest(spot: Spot, *kinds: type[Question[Any]]) -> Question[Any] | None:
    """The question of these kinds that was asked last about a plan, running or answered."""
    job = job_of(spot.place)
    asked = [*_answers]
    if job is not None and isinstance(job.about, Asked):
        asked.append(job.about)
    found = [one.question for one in asked if one.spot == spot and isinstance(one.question, kinds)]
    return found[-1] if found else None
