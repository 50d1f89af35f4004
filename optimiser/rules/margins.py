"""Rules about what a plate, a portion and a delivery cost."""

from __future__ import annotations

from optimiser.rules.base import Rule

RULES: tuple[type[Rule], ...] = ()
