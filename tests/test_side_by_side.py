"""Pieces of work carried out two at a time."""

from __future__ import annotations

import threading

import pytest

from optimiser.side_by_side import WORKERS, side_by_side


def test_so_many_are_at_work_at_once_and_all_are_done() -> None:
    meet = threading.Barrier(WORKERS, timeout=10)  # breaks unless all meet
    done: list[int] = []

    def job(number: int) -> None:
        meet.wait()
        done.append(number)

    side_by_side([lambda n=n: job(n) for n in range(2 * WORKERS)], lambda: False)
    assert sorted(done) == list(range(2 * WORKERS))


def test_none_is_begun_once_there_is_enough() -> None:
    done: list[int] = []
    side_by_side([lambda n=n: done.append(n) for n in range(9)], lambda: len(done) >= 3, workers=1)
    assert done == [0, 1, 2]


def test_what_a_job_raises_is_raised_and_the_others_end_first() -> None:
    begun, ended = threading.Event(), threading.Event()

    def fails() -> None:
        assert begun.wait(10)
        raise ValueError("no such week")

    def goes_on() -> None:
        begun.set()
        ended.wait(0.05)
        ended.set()

    with pytest.raises(ValueError, match="no such week"):
        side_by_side([fails, goes_on], lambda: False)
    assert ended.is_set()
