"""Rules about things that are opened or cut."""

from __future__ import annotations

from optimiser.rules.base import Rule

RULES: tuple[type[Rule], ...] = ()
