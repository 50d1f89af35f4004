"""Figures from outside beside our own: every check records both, and a table is printed.

A check asks for one of three fixtures and calls it once:
- `outside`   ours comes from a function of the program;
- `main_job`  ours is read from a week that the planner made and the verifier passed;
- `custom`    a custom of kitchens without a source: printed, but not counted.
`test_count_figures.py` counts the first two. The table shows what was recorded,
also by several processes of pytest-xdist.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from optimiser.plan import Plan
from tests.outside.bench import COMMON

WIDTHS = {"topic": 11, "source": 28, "figure": 37, "theirs": 11, "ours": 11, "by": 6}
"""Columns of the table; with a space between them 109 characters."""
HEAD = tuple(WIDTHS)
MAIN, HELPER, CUSTOM = "main", "helper", "custom"
BY = {"main_job": MAIN, "outside": HELPER, "custom": CUSTOM}
"""What each fixture writes in the last column."""

Figure = float | str
Theirs = Figure | tuple[float, float]
"""A number, a word, or a band (least, most)."""

counted = pytest.StashKey[dict[str, list[str]]]()
"""Node ids of the collected checks by fixture, before -k and the like."""


class Recorder:
    """Writes one row of the table, then compares."""

    def __init__(self, by: str, note: Callable[[str, object], None]) -> None:
        self.rows = 0
        self._by, self._note = by, note

    def __call__(
        self,
        topic: str,
        source: str,
        figure: str,
        theirs: Theirs,
        ours: Figure,
        within: float = 0.0,
    ) -> None:
        """Record, then assert |ours - theirs| <= within, or that ours lies in the band."""
        row = (topic, source, figure, shown(theirs), shown(ours), self._by)
        for name, text in zip(HEAD, row, strict=True):
            assert text and len(text) <= WIDTHS[name], f"{name} does not fit the table: {text!r}"
        if self._by == CUSTOM:
            assert source == COMMON
        self.rows += 1
        self._note("outside", list(row))
        assert agree(theirs, ours, within), f"{topic}, {figure}: theirs {theirs}, ours {ours}"


class MainJob(Recorder):
    """The same for figures read from a week; `plan` is the one they come from."""

    def __call__(self, plan: Plan, *row: Any, **limits: float) -> None:  # type: ignore[override]
        """Assert that the verifier passed the plan, then record and compare."""
        assert plan.verified and plan.cooks
        super().__call__(*row, **limits)


def agree(theirs: Theirs, ours: Figure, within: float) -> bool:
    """Whether ours is theirs, within a tolerance; a band and words have none."""
    if isinstance(theirs, tuple):
        assert within == 0 and not isinstance(ours, str)
        return theirs[0] <= ours <= theirs[1]
    if isinstance(theirs, str) or isinstance(ours, str):
        assert within == 0
        return theirs == ours
    return abs(ours - theirs) <= within + 1e-12 * abs(theirs)


def shown(figure: Theirs) -> str:
    """A figure as the table prints it."""
    if isinstance(figure, tuple):
        return f"{figure[0]:g}-{figure[1]:g}"
    return figure if isinstance(figure, str) else f"{figure:.7g}"


def _recording(request: pytest.FixtureRequest, note: Any) -> Iterator[Any]:
    by = BY[request.fixturename or ""]
    recorder = (MainJob if by == MAIN else Recorder)(by, note)
    yield recorder
    assert recorder.rows == 1, f"a check records one row, this one recorded {recorder.rows}"


@pytest.fixture
def outside(
    request: pytest.FixtureRequest, record_property: Callable[[str, object], None]
) -> Iterator[Recorder]:
    """For a figure of ours that a function of the program gives."""
    yield from _recording(request, record_property)


@pytest.fixture
def main_job(
    request: pytest.FixtureRequest, record_property: Callable[[str, object], None]
) -> Iterator[MainJob]:
    """For a figure of ours that stands in a verified plan or its reports."""
    yield from _recording(request, record_property)


@pytest.fixture
def custom(
    request: pytest.FixtureRequest, record_property: Callable[[str, object], None]
) -> Iterator[Recorder]:
    """For a custom of kitchens that no source of ours states."""
    yield from _recording(request, record_property)


@pytest.fixture
def checks(request: pytest.FixtureRequest) -> dict[str, list[str]]:
    """Node ids of all collected checks, by fixture."""
    return request.config.stash[counted]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Count the checks before any are deselected."""
    found: dict[str, list[str]] = {name: [] for name in BY}
    for item in items:
        for name in BY:
            if name in getattr(item, "fixturenames", ()):
                found[name].append(item.nodeid)
    config.stash[counted] = found


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print the table of all rows recorded, those that disagree marked with `!`."""
    rows = []
    for outcome in ("passed", "failed"):
        for report in terminalreporter.stats.get(outcome, []):
            if getattr(report, "when", "") == "call":
                for name, row in report.user_properties:
                    if name == "outside":
                        rows.append(([str(cell) for cell in row], outcome == "failed"))
    if not rows:
        return
    write = terminalreporter.write_line
    terminalreporter.section("figures from outside")
    write(_line(list(HEAD)))
    for row, failed in sorted(rows):
        write(_line(row) + ("!" if failed else ""))
    by = [row[-1] for row, _ in rows]
    write(
        f"{by.count(MAIN) + by.count(HELPER)} figures, {by.count(MAIN)} of them from planned "
        f"weeks. Not counted: {by.count(CUSTOM)} without a source (common practice)."
    )


def _line(cells: list[str]) -> str:
    padded = (cell.ljust(width) for cell, width in zip(cells, WIDTHS.values(), strict=True))
    return " ".join(padded).rstrip()
