"""Rules that mix kitchens, methods and textures."""

from __future__ import annotations

from optimiser.rules.base import Rule

RULES: tuple[type[Rule], ...] = ()
