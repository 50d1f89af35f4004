"""Long work that a person watches on stderr and may stop with Ctrl-C."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from optimiser.background import in_background
from optimiser.progress import Report
from optimiser.progress_line import ProgressLine

T = TypeVar("T")


@dataclass(frozen=True)
class Said:
    """What is said when the work begins, and when it is asked to stop (blank: nothing)."""

    begin: str
    stopping: str


def watched(work: Callable[[Report], T], stop: threading.Event, currency: str, said: Said) -> T:
    """What `work` returns or raises. It is handed where to report to, and watches `stop` itself."""
    line = ProgressLine(currency)
    warned = stop.is_set() or not said.stopping

    def meanwhile() -> None:
        nonlocal warned
        if stop.is_set() and not warned:
            warned = True
            line.say(said.stopping)
        line.show()

    line.say(said.begin)
    try:
        return in_background(lambda: work(line.take), meanwhile)
    finally:
        line.close()
