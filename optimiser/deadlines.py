"""Moments at which a part of a search has to end."""

from __future__ import annotations

import time


def part_of(until: float, share: float) -> float:
    """When this share of the time left until then is over (seconds of `time.monotonic`)."""
    now = time.monotonic()
    return now + (until - now) * share
