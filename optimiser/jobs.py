"""Long work in the background of a server, found again after a reload or a lost connection.

A job is known by a key, such as (place of the store, "plan"); of one key one runs at a time.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Hashable
from typing import Any, Generic, TypeVar

T = TypeVar("T")
R = TypeVar("R")

Work = Callable[[Callable[[T], None], threading.Event], R]
"""Gets a function to report news to, and an event that asks it to stop."""

MOST_NEWS = 2000
"""Of so many reports every second one is dropped: a curve needs no more."""

UNFORESEEN = "Something unforeseen went wrong, and nothing was changed. Try again."

_log = logging.getLogger(__name__)
_jobs: dict[Hashable, Job[Any, Any]] = {}
_lock = threading.Lock()


class Told(Exception):
    """Work that ends for a reason that the user is to read."""


class Job(Generic[T, R]):
    """Work in a thread of its own. `error`: a sentence for the user, None if all went well.

    `about` is whatever its starter wants to know of it later.
    """

    def __init__(self, work: Work[T, R], about: object = None) -> None:
        self.about = about
        self.news: list[T] = []
        self.result: R | None = None
        self.error: str | None = None
        self._started = time.monotonic()
        self._ended: float | None = None
        self._stop = threading.Event()
        self._done = threading.Event()
        self._work = work
        self._thread = threading.Thread(target=self._run, daemon=True)

    @property
    def done(self) -> bool:
        """Whether it has ended, well or not."""
        return self._done.is_set()

    @property
    def stopping(self) -> bool:
        """Whether it was asked to stop."""
        return self._stop.is_set()

    @property
    def seconds(self) -> float:
        """How long it has run, or ran."""
        return (self._ended or time.monotonic()) - self._started

    def stop(self) -> None:
        """Ask it to end at the next chance, keeping what it has."""
        self._stop.set()

    def wait(self, seconds: float | None = None) -> bool:
        """Wait until it has ended; whether it has."""
        return self._done.wait(seconds)

    def _run(self) -> None:
        try:
            self.result = self._work(self._take, self._stop)
        except Told as told:
            self.error = str(told)
        except Exception:
            _log.exception("a job failed")
            self.error = UNFORESEEN
        finally:
            self._ended = time.monotonic()
            self._done.set()

    def _take(self, news: T) -> None:
        if len(self.news) >= MOST_NEWS:
            # A new list: whoever reads the old one meanwhile is not disturbed.
            self.news = [*self.news[:-1:2], self.news[-1]]
        self.news.append(news)


def start(key: Hashable, work: Work[T, R], about: object = None) -> Job[T, R]:
    """Start work, or find that of the same key which is still running."""
    with _lock:
        running = _jobs.get(key)
        if running is not None and not running.done:
            return running
        job = Job(work, about)
        _jobs[key] = job
        job._thread.start()
    return job


def find(key: Hashable) -> Job[Any, Any] | None:
    """The latest job of a key, running or ended."""
    return _jobs.get(key)


def forget(key: Hashable) -> None:
    """Drop an ended job, once what it came to is of no more interest."""
    with _lock:
        job = _jobs.get(key)
        if job is not None and job.done:
            del _jobs[key]
