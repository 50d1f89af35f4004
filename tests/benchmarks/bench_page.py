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
import re
import shutil
import statistics
import tempfile
import time
from collections.abc import Callable, Mapping
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
    from playwright.sync_api import Browser

EMPTY = """
import streamlit as st

st.title("Nothing")
st.write("is on" if st.toggle("A switch") else "is off")
"""
COLD, WARM, PRESS = "open, cold", "open, warm", "answer to a press"
LAST_DRAWN = {
    "": ".cabinet .tray",
    "prices": '[data-testid="stVegaLiteChart"] svg',
} | dict.fromkeys(("rules", "larder", "dishes", "why", "sheets", "settings"))
"""The pages; for some what the browser itself draws after all else."""

RULE = f"rules: a rule off or on, {PRESS}"
PRICE = f"prices: a slider by a step, {PRESS}"
FIRST, BETTER = "week: first week after Plan", "week: a better week after Plan"
SWITCH = re.compile("^Switch o(n|ff)$")
MOST_MS = 120_000
Taken = dict[str, list[float]]
"""Seconds of every time, by what was measured."""

AIMS_S = {f"{path or 'week'}: {WARM}": 2.0 for path in LAST_DRAWN} | {
    RULE: 1.0,
    PRICE: 1.0,
    FIRST: 3.0,
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
        _open_again(screen, {"": None}, times, taken)
        for _ in range(times):
            switch = screen.page.get_by_text("A switch")
            _note(taken, PRESS, _until_drawn(screen, switch.click))
    return taken


def measure_ours(browser: Browser, folder: Path, times: int) -> Taken:
    """The pages, each opened again and again, then what is done on them."""
    folder.mkdir()
    keep_planned(folder / "cafe.db", SAMPLE)
    taken: Taken = {}
    with serving(folder) as server:
        screen = _first_window(browser, server, taken)
        _open_again(screen, LAST_DRAWN, times, taken)
        _switch_a_rule(screen, times, taken)
        _move_a_price(screen, times, taken)
    empty_store = folder / "first"
    empty_store.mkdir()
    with serving(empty_store) as server:
        _plan(_first_window(browser, server, {}), taken)

    return taken


def _first_window(browser: Browser, server: Server, taken: Taken) -> Screen:
    """The first window on a server; its browser has loaded nothing of it yet."""
    width, height = SIZES["desktop"]
    page = browser.new_context(viewport={"width": width, "height": height}).new_page()
    screen = Screen(page, server, server.log.parent, "bench")
    _note(taken, COLD, screen.open())
    return screen


def _open_again(
    screen: Screen, last_drawn: Mapping[str, str | None], times: int, taken: Taken
) -> None:
    """Each page opened again by its address, until what is slowest on it is drawn."""
    for path, last in last_drawn.items():
        for _ in range(times):
            seconds = screen.open(path)
            if last:
                screen.page.locator(last).first.wait_for()
                seconds = screen.settle()
            _note(taken, f"{path or 'week'}: {WARM}", seconds)


def _switch_a_rule(screen: Screen, times: int, taken: Taken) -> None:
    """A rule off and on again in its form, until the page says what that means for the week."""
    screen.open("rules")
    screen.press(screen.page.get_by_role("button", name="No dish comes back sooner"))
    for _ in range(times):
        switch = screen.main().get_by_role("button", name=SWITCH)
        _note(taken, RULE, _until_drawn(screen, switch.click))


def _move_a_price(screen: Screen, times: int, taken: Taken) -> None:
    """A slider one step on, until the page says what keeping the menu then costs."""
    screen.open("prices")
    screen.page.get_by_role("slider").first.focus()
    told = screen.page.get_by_role("status")
    for _ in range(times):
        before = told.all_inner_texts()
        started = time.monotonic()
        screen.page.keyboard.press("ArrowRight")
        screen.wait_until(lambda old=before: told.all_inner_texts() not in ([], old))
        _note(taken, PRICE, time.monotonic() - started)


def _plan(screen: Screen, taken: Taken) -> None:
    """From pressing the button of an empty cabinet to the first week, and to a better one."""
    screen.open()
    best = screen.page.locator(".watch").filter(has_text="best so far")
    started = time.monotonic()
    screen.page.get_by_role("button", name="Plan the week").click()
    best.wait_for(timeout=MOST_MS)
    _note(taken, FIRST, time.monotonic() - started)
    margin = best.locator("p b").first
    first = margin.all_inner_texts()
    while (now := margin.all_inner_texts()) == first:
        screen.page.wait_for_timeout(20)
    if now:  # else the search ended with its first week
        _note(taken, BETTER, time.monotonic() - started)


def _until_drawn(screen: Screen, act: Callable[[], None]) -> float:
    """Seconds from an act until the server's script has run and nothing on the page moves."""
    runs = screen.runs
    before = float(screen.page.evaluate("performance.now()")) / 1000
    act()
    screen.wait_until(lambda: screen.runs > runs)
    return screen.settle() - before


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
