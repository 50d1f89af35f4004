"""Several pieces of work at once: solvers leave Python's lock alone while they count."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from threading import Lock

WORKERS = 2


def side_by_side(
    jobs: Iterable[Callable[[], object]], enough: Callable[[], bool], workers: int = WORKERS
) -> None:
    """Carry out the jobs in order, so many at once; none is begun once there is `enough`.

    What a job raises is raised here, when the others under way have ended.
    """
    waiting, lock = iter(jobs), Lock()

    def work() -> None:
        while not enough():
            with lock:
                job = next(waiting, None)
            if job is None:
                return
            job()

    with ThreadPoolExecutor(workers) as pool:
        for done in [pool.submit(work) for _ in range(workers)]:
            done.result()
