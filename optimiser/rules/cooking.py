"""Rules about when and how the kitchen cooks."""

from __future__ import annotations

from optimiser.rules.base import Rule

RULES: tuple[type[Rule], ...] = ()
