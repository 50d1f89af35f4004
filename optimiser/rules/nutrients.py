"""Rules about amino acids, salt and fibre, where they are known."""

from __future__ import annotations

from optimiser.rules.base import Rule

RULES: tuple[type[Rule], ...] = ()
