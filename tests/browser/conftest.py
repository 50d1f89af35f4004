"""A real browser on the real page. Where Chromium or Playwright is missing the tests are
skipped with a sentence; in CI (CI=true) that is a failure.

CABINET_SHOTS names a folder to keep screenshots in; otherwise they go where pytest
keeps temporary files.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import pytest

from tests.browser.kept import keep_planned, keep_tables
from tests.browser.screen import CHROMIUMS, FLAGS, SIZES, Screen
from tests.browser.server import Server, serving
from tests.test_cli import easy_cafe, hard_cafe

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext

PHONE_AGENT = (
    "Mozilla/5.0 (Linux; Android 14; Mobile) AppleWebKit/537.36 (KHTML, like Gecko) "
    "Chrome/131.0.0.0 Mobile Safari/537.36"
)
"""By this word Streamlit knows a phone, and closes its menu after a choice."""

Opens = Callable[..., Screen]


def _miss(sentence: str) -> NoReturn:
    if os.environ.get("CI", "").lower() in ("1", "true"):
        pytest.fail(f"{sentence}; in CI the browser tests must run")
    pytest.skip(sentence)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, driven by Playwright; it downloads no browser of its own."""
    chromium = next(filter(None, map(shutil.which, CHROMIUMS)), None)
    if chromium is None:
        _miss("no Chromium on this machine (Debian: apt-get install chromium)")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _miss("the Python package playwright is not installed")
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
        yield running
        running.close()


@pytest.fixture(scope="session")
def shots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the screenshots."""
    wanted = os.environ.get("CABINET_SHOTS")
    folder = Path(wanted) if wanted else tmp_path_factory.mktemp("shots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def contexts(browser: Browser) -> Iterator[Callable[[str, str], BrowserContext]]:
    """Somebody's browser on a device of one size; it keeps the scripts it has loaded."""
    known: dict[tuple[str, str], BrowserContext] = {}

    def of(size: str, who: str) -> BrowserContext:
        if (size, who) not in known:
            width, height = SIZES[size]
            known[size, who] = browser.new_context(
                viewport={"width": width, "height": height},
                has_touch=size == "phone",
                is_mobile=size == "phone",
                user_agent=PHONE_AGENT if size == "phone" else None,
                locale="en-AU",
                reduced_motion="reduce",
            )
        return known[size, who]

    yield of
    for context in known.values():
        context.close()


@pytest.fixture
def opens(contexts: Callable[[str, str], BrowserContext], shots: Path) -> Iterator[Opens]:
    """`opens(server, size, name, who)`: a new window. All are checked when the test ends."""
    screens: list[Screen] = []

    def new(server: Server, size: str = "desktop", name: str = "page", who: str = "anna") -> Screen:
        page = contexts(size, who).new_page()
        screen = Screen(page, server, shots, f"{name}-{size}")
        screens.append(screen)
        return screen

    yield new
    try:
        for screen in screens:
            screen.shot("end")
            screen.check()
    finally:
        for screen in screens:
            screen.page.close()


@pytest.fixture
def first_time(tmp_path: Path) -> Iterator[Server]:
    """A server on a store that is not there yet: what somebody meets who has set nothing."""
    with serving(tmp_path) as server:
        yield server


@pytest.fixture
def busy(tmp_path: Path) -> Iterator[Server]:
    """A cafe with a first week in a second, and better ones for as long as one likes."""
    keep_tables(tmp_path / "cafe.db", hard_cafe(tmp_path / "tables"))
    with serving(tmp_path) as server:
        yield server


@pytest.fixture
def busy_planned(tmp_path: Path) -> Iterator[Server]:
    """The same with its first week kept."""
    keep_planned(tmp_path / "cafe.db", hard_cafe(tmp_path / "tables"))
    with serving(tmp_path) as server:
        yield server


@pytest.fixture
def easy_planned(tmp_path: Path) -> Iterator[Server]:
    """A cafe of two days, planned, whose questions are answered in a moment."""
    keep_planned(tmp_path / "cafe.db", easy_cafe(tmp_path / "tables"))
    with serving(tmp_path) as server:
        yield server
