"""One browser window on the page, and what has to hold on any page at any moment."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from streamlit.proto.ForwardMsg_pb2 import ForwardMsg

from tests.browser.server import Server

if TYPE_CHECKING:
    from playwright.sync_api import ConsoleMessage, Locator, Page, WebSocket

SIZES = {"desktop": (1280, 800), "phone": (390, 844)}
PATIENCE_MS = 20_000
"""How long a condition may take on a busy machine; nothing waits this long when all is well."""

CHROMIUMS = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
)
GUESS = re.compile(r"/\w+/_stcore/(health|host-config)")
"""Streamlit's own script, opened on the address of a page, first asks for its server below
that address, is told 404, and asks again at the top."""

CALM_MS = 120
CALM = """([calmMs]) => {
  // React draws a little after the script has ended, and fades things in: calm is when
  // nothing moves any more.
  const app = document.querySelector('[data-testid="stApp"]');
  const drawn = app && app.dataset.testScriptState === 'notRunning'
    && !document.querySelector('[data-testid="stSkeleton"], [data-testid="stAppSkeleton"]')
    && !document.querySelector('[data-stale="true"]')
    && !document.getAnimations().some((one) => one.playState === 'running'
      && one.effect?.getComputedTiming().endTime !== Infinity)
    && document.querySelector('[data-testid="stMainBlockContainer"]').textContent;
  const now = performance.now(), seen = window.cabinetSeen;
  if (!drawn || !seen || seen.drawn !== drawn) {
    window.cabinetSeen = {drawn, since: now};
    return false;
  }
  return now - seen.since >= calmMs;
}"""

TOO_WIDE = """(most) => {
  const found = [];
  const scrolls = (one) => {
    for (let up = one.parentElement; up; up = up.parentElement) {
      const way = getComputedStyle(up).overflowX;
      if (way === 'auto' || way === 'scroll' || way === 'hidden' || way === 'clip') return up;
    }
    return null;
  };
  for (const one of document.querySelectorAll('[data-testid="stMain"] *')) {
    const box = one.getBoundingClientRect();
    if (!box.width || !box.height || !one.checkVisibility()) continue;
    if (box.right > most + 1 || box.left < -1) {
      // What lies in a box that scrolls by itself can be reached; the page's own main box
      // is no such excuse: nobody scrolls a page sideways on a phone.
      const holder = scrolls(one);
      if (holder && holder.dataset.testid !== 'stMain' && holder.closest('[data-testid="stMain"]'))
        continue;
      found.push(`${one.tagName} ${one.dataset.testid || one.className} `
        + `${Math.round(box.left)}..${Math.round(box.right)}: ${one.textContent.slice(0, 40)}`);
    }
  }
  const main = document.querySelector('[data-testid="stMain"]');
  for (const whole of [main, document.documentElement])
    if (whole && whole.scrollWidth > most + 1)
      found.push(`${whole.tagName} as a whole: ${whole.scrollWidth} in ${most}`);
  return found.slice(0, 10);
}"""


@dataclass
class Screen:
    """A window of one size. `faults` collects what no test may cause."""

    page: Page
    server: Server
    shots: Path
    name: str
    faults: list[str] = field(default_factory=list)
    runs: int = 0
    _log_read: int = 0

    def __post_init__(self) -> None:
        self.forget()
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.on("request", lambda request: self._ask(request.url))
        self.page.on("websocket", self._listen)
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda error: self.faults.append(f"script error: {error}"))

    def forget(self) -> None:
        """Start afresh: what broke so far was meant to."""
        self.faults.clear()
        self._log_read = len(self.server.logged())

    def _ask(self, url: str) -> None:
        """Note every address that is not the server's own."""
        parts = urlsplit(url)
        if parts.scheme in ("data", "blob", "about"):
            return
        if parts.netloc != urlsplit(self.server.url).netloc:
            self.faults.append(f"a request left the machine: {url}")

    def _listen(self, socket: WebSocket) -> None:
        """Count how often the server's script has ended: each run draws something new."""
        self._ask(socket.url)

        def receive(frame: bytes | str) -> None:
            if isinstance(frame, bytes):
                self.runs += ForwardMsg.FromString(frame).WhichOneof("type") == "script_finished"

        socket.on("framereceived", receive)

    def _hear(self, message: ConsoleMessage) -> None:
        where = urlsplit(message.location.get("url", ""))
        if message.type == "error" and not GUESS.fullmatch(where.path):
            self.faults.append(f"console: {message.text} ({message.location.get('url')})")

    def open(self, path: str = "") -> float:
        """Go to a page by its address and wait until it stands; the seconds that took."""
        self.page.goto(f"{self.server.url}/{path}")
        return self.settle()

    def settle(self) -> float:
        """Wait until the script has run and everything that it draws is there.

        The seconds from the last loading of the page to its last change.
        """
        self.page.wait_for_function(CALM, arg=[CALM_MS])
        return float(self.page.evaluate("window.cabinetSeen.since")) / 1000

    def press(self, pressed: Locator) -> None:
        """Press what makes the script run, and wait until that has run and is drawn."""
        runs = self.runs
        pressed.click()
        self.wait_until(lambda: self.runs > runs)
        self.settle()

    def wait_until(self, holds: Callable[[], bool]) -> None:
        """Until something holds that the page alone does not tell; the browser goes on."""
        end = time.monotonic() + PATIENCE_MS / 1000
        while not holds():
            assert time.monotonic() < end, "waited in vain"
            self.page.wait_for_timeout(20)

    def shot(self, moment: str) -> Path:
        """Keep a picture of what is on the screen as a test artefact."""
        path = self.shots / f"{self.name}-{moment}.png"
        self.page.screenshot(path=path)
        return path

    def whole_shot(self, moment: str) -> Path:
        """Keep a picture of all of the page: the page scrolls in a box of its own."""
        size = self.page.viewport_size
        assert size is not None
        height = int(self.main().evaluate("(main) => main.scrollHeight"))
        self.page.set_viewport_size({**size, "height": max(size["height"], min(height, 6000))})
        path = self.shot(moment)
        self.page.set_viewport_size(size)
        return path

    def main(self) -> Locator:
        """The page without its navigation."""
        return self.page.get_by_test_id("stMain")

    def too_wide(self) -> list[str]:
        """What sticks out of the screen sideways."""
        size = self.page.viewport_size
        assert size is not None
        found: list[str] = self.page.evaluate(TOO_WIDE, size["width"])
        return found

    def check(self) -> None:
        """Nothing broke so far: no exception, no outside request, no error in any log."""
        log = self.server.logged()[self._log_read :]
        boxes = self.page.get_by_test_id("stException").all_inner_texts()
        assert not boxes, f"an exception box: {boxes}; the server's log:\n{log}"
        assert "Traceback" not in log, f"the server's log:\n{log}"
        assert not self.faults, json.dumps(self.faults, indent=1)
