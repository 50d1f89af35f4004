"""Cases of the rules in `opened`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from tests.rule_cases.base import Case

SOLVED: dict[str, list[Case]] = {}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = ()

FAULTS: tuple[tuple[Rule, str], ...] = ()
