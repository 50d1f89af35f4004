"""Cases of every rule, one module a topic, gathered here for the tests of all rules."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from tests.rule_cases import (
    colour,
    cooking,
    diets,
    display,
    kitchen,
    margins,
    mixes,
    money,
    novelty,
    nutrients,
    opened,
    pins,
    protein,
    season,
    shelf,
    stock,
    variety,
)
from tests.rule_cases.base import Case

_TOPICS = (
    *(variety, novelty, mixes, colour, display, protein, nutrients, diets),
    *(money, margins, stock, opened, shelf, kitchen, cooking, season, pins),
)

SOLVED: dict[str, list[Case]] = {k: v for topic in _TOPICS for k, v in topic.SOLVED.items()}
"""Weeks solved by hand, by kind of rule."""

PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    k: v for topic in _TOPICS for k, v in topic.PARAMETERS.items()
}
"""Random parameters by kind of rule."""

BOARDS: tuple[dict[str, Any], ...] = tuple(one for topic in _TOPICS for one in topic.BOARDS)
"""Settings of rules to be compared with their checks in the real model."""

FAULTS: tuple[tuple[Rule, str], ...] = tuple(one for topic in _TOPICS for one in topic.FAULTS)
"""Rules that do not fit the tiny cafe, and the mend each fault has to name."""
