"""Long work in a thread, so that the main thread hears Ctrl-C at once."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from types import FrameType
from typing import TypeVar

T = TypeVar("T")
LOOK_SECONDS = 0.2


def in_background(work: Callable[[], T], meanwhile: Callable[[], None]) -> T:
    """What `work` returns or raises; `meanwhile` is called in this thread, often."""
    future: Future[T] = Future()

    def carry_out() -> None:
        try:
            result = work()
        except BaseException as error:  # handed on to whoever waits, as Future does
            future.set_exception(error)
        else:
            future.set_result(result)

    thread = threading.Thread(target=carry_out, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(LOOK_SECONDS)
        meanwhile()
    return future.result()


@contextmanager
def stop_on_interrupt(stop: threading.Event) -> Iterator[None]:
    """Ctrl-C sets `stop`; a second one ends the process with 130, whatever is running."""

    def interrupted(_signal: int, _frame: FrameType | None) -> None:
        if stop.is_set():
            os.write(2, b"\nGiven up.\n")
            os._exit(130)
        stop.set()

    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread is told of signals
        return
    before = signal.signal(signal.SIGINT, interrupted)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
