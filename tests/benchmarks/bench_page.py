"""How long the page takes: to open, to answer an edit, to show a first plan.

    python -m tests.benchmarks.bench_page [--times 5] [--out FILE.json]

The sample cafe in a store of its own, Chromium on the same machine. `cold` is the first
window after the server has started, so each run has one of it; the rest are medians. The
ratio is to the same measure of a Streamlit page with one switch and nothing else, taken
in the same run: what is above 1 is ours, not Streamlit's or the machine's.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import statistics
import tempfile
import time
from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from playwright.sync_api import sync_playwright
from rich.console import Console
from rich.table import Table

from tests.browser.kept import SAMPLE, keep_planned
from tests.browser.screen import CHROMIUMS, FLAGS, SIZES, Screen
from tests.browser.server import Server, serving

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator

EMPTY = """
import streamlit as st

st.title("Nothing")
st.write("is on" if st.toggle("A switch") else "is off")
"""
COLD, WARM, PRESS = "open, cold", "open, warm", "answer to a press"
PAGES = ("", "rules", "larder", "prices", "dishes", "why", "sheets", "settings")
Taken = dict[str, list[float]]
"""Seconds of every time, by what was measured."""

AIMS_S = {
    f"week: {WARM}": 2.0,
    "rules: a rule switched off, answered": 1.0,
    "week: first plan after Plan": 3.0,
}


def main() -> None:
    args = _arguments()
    chromium = next(filter(None, map(shutil.which, CHROMIUMS)))
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        browser = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
        baseline = measure_empty(browser, folder / "empty", args.times)
        taken = measure_ours(browser, folder / "ours", args.times)
        browser.close()
    show(baseline, taken)
    if args.out:
        body = {"machine": machine(), "empty": baseline, "page": taken}
        args.out.write_text(json.dumps(body, indent=1) + "\n")


def measure_empty(browser: Browser, folder: Path, times: int) -> Taken:
    """The baseline: a page with a switch."""
    folder.mkdir()
    script = folder / "empty.py"
    script.write_text(EMPTY)
    taken: Taken = {}
    with serving(folder, script) as server:
        screen = _first_window(browser, server, taken)
        _open_again(screen, [""], times, taken)
        for number in range(times):
            switch = screen.page.get_by_text("A switch")
            said = screen.page.get_by_text("is off" if number % 2 else "is on", exact=True)
            _note(taken, PRESS, _answered(switch, said))
    return taken


def measure_ours(browser: Browser, folder: Path, times: int) -> Taken:
    """The pages, each opened again and again, then what is done on them."""
    folder.mkdir()
    keep_planned(folder / "cafe.db", SAMPLE)
    taken: Taken = {}
    with serving(folder) as server:
        screen = _first_window(browser, server, taken)
        _open_again(screen, PAGES, times, taken)

    return taken


def _first_window(browser: Browser, server: Server, taken: Taken) -> Screen:
    """The first window on a server; its browser has loaded nothing of it yet."""
    width, height = SIZES["desktop"]
    page = browser.new_context(viewport={"width": width, "height": height}).new_page()
    screen = Screen(page, server, server.log.parent, "bench")
    _note(taken, COLD, screen.open())
    return screen


def _open_again(screen: Screen, paths: Iterable[str], times: int, taken: Taken) -> None:
    for path in paths:
        for _ in range(times):
            _note(taken, f"{path or 'week'}: {WARM}", screen.open(path))


def _answered(pressed: Locator, answer: Locator) -> float:
    """Seconds from pressing until the answer is to be seen."""
    started = time.monotonic()
    pressed.click()
    answer.wait_for()
    return time.monotonic() - started


def _note(taken: Taken, what: str, seconds: float) -> None:
    taken.setdefault(what, []).append(seconds)


def show(baseline: Taken, taken: Taken) -> None:
    """A table: ours, the empty page, the ratio, the aim."""
    table = Table("measure", "times", "seconds", "empty page", "ratio", "aim")
    for column in table.columns[1:]:
        column.justify = "right"
    for what, seconds in taken.items():
        ours, empty = statistics.median(seconds), _like(baseline, what)
        aim = AIMS_S.get(what)
        table.add_row(
            what,
            str(len(seconds)),
            f"{ours:.2f}",
            "-" if empty is None else f"{empty:.2f}",
            "-" if empty is None else f"{ours / empty:.1f}",
            "" if aim is None else f"{aim:g}" + (" missed" if ours > aim else ""),
        )
    Console(width=110).print(table)


def _like(baseline: Taken, what: str) -> float | None:
    """The same of the empty page: its only page, its only switch."""
    for kind in (COLD, WARM, PRESS):
        if what.endswith(kind):
            return statistics.median(baseline[kind if kind in baseline else f"week: {kind}"])
    return None


def machine() -> dict[str, Any]:
    """What times depend on; no names."""
    packages = {name: version(name) for name in ("streamlit", "playwright")}
    return {"cores": os.cpu_count(), "python": platform.python_version(), **packages}


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="bench_page", allow_abbrev=False)
    parser.add_argument("--times", type=int, default=5, help="of each measure (5)")
    parser.add_argument("--out", type=Path, metavar="FILE.json", help="write all times")
    return parser.parse_args()


if __name__ == "__main__":
    main()
