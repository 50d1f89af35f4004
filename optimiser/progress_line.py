"""How a search is going, on stderr: one live line on a terminal, else a line now and then."""

from __future__ import annotations

import sys
import time

from rich.console import Console
from rich.live import Live
from rich.text import Text

from optimiser.progress import Progress
from optimiser.report_base import money_text

SECONDS_BETWEEN_LINES = 2.0


class ProgressLine:
    """Shows the latest `Progress`. `take` may be called from any thread, the rest from one."""

    def __init__(self, currency: str) -> None:
        self._currency = currency
        self._latest: Progress | None = None
        self._printed: Progress | None = None
        self._started = self._last_print = time.monotonic()
        console = Console(file=sys.stderr)
        self._live = None
        if sys.stderr.isatty() and not console.is_dumb_terminal:
            self._live = Live(console=console, auto_refresh=False, transient=True)
            self._live.start()

    def take(self, progress: Progress) -> None:
        """Keep the latest news."""
        self._latest = progress

    def show(self) -> None:
        """Refresh the live line, or print a line if there is news and it is time for one."""
        latest, now = self._latest, time.monotonic()
        if latest is None:
            return
        line = progress_text(latest, now - self._started, self._currency)
        if self._live is not None:
            text = Text(line, no_wrap=True, overflow="ellipsis")
            self._live.update(text, refresh=True)
        elif latest is not self._printed and now - self._last_print >= SECONDS_BETWEEN_LINES:
            self._printed, self._last_print = latest, now
            print(line, file=sys.stderr, flush=True)

    def say(self, sentence: str) -> None:
        """A sentence of its own, above the live line."""
        if self._live is not None:
            self._live.console.print(Text(sentence))
        else:
            print(sentence, file=sys.stderr, flush=True)

    def close(self) -> None:
        """Take the live line away."""
        if self._live is not None:
            self._live.stop()


def progress_text(progress: Progress, seconds: float, currency: str) -> str:
    """`12 s, improving: best $4,905.00, at most $5,010.00, gap $105.00`."""
    known = []
    best, bound = progress.best_cents, progress.bound_cents
    if best is not None:
        known.append(f"best {money_text(best, currency)}")
    if bound is not None:
        known.append(f"at most {money_text(bound, currency)}")
    if best is not None and bound is not None:
        known.append(f"gap {money_text(max(0.0, bound - best), currency)}")
    return ", ".join([f"{seconds:.0f} s, {progress.doing}", *known])
