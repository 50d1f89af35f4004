"""Rules about room and amounts on shelf and in the fridge."""

from __future__ import annotations

from optimiser.rules.base import Rule

RULES: tuple[type[Rule], ...] = ()
