"""News of a search or a question on its way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Progress:
    """What is known so far: money in cents; None while there is none."""

    seconds: float
    doing: str
    best_cents: float | None
    bound_cents: float | None


Report = Callable[[Progress], None]
"""Takes news, perhaps from another thread."""
