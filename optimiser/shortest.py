"""The shortest conflict: take away what a conflict does not need, piece by piece."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Hashable
from typing import TypeVar

from optimiser.deadlines import part_of
from optimiser.elastic import Elastic
from optimiser.giving import Columns

Key = TypeVar("Key", bound=Hashable)

PATIENCE = (1 / 20, 1 / 6, 1 / 2)
"""Fractions of the time for one question, when first asked and when asked again.

That rules cannot hold is mostly shown at once; that they can takes a whole week.
"""

LEAST_SECONDS = 0.4

RULES_SHARE = 2 / 3
"""Fraction of the time for leaving out rules; the rest is for days."""


def shortest(
    elastic: Elastic, groups: dict[Key, Columns], always: Columns, until: float
) -> tuple[dict[Key, Columns], bool]:
    """Of groups of rows that cannot hold with `always`, some that still cannot.

    One group after the other is left out: if the rest still cannot hold, for good.
    What is not known quickly is asked again when the conflict is shorter. Also
    whether every group left is known to be needed (time may run out before).
    """
    kept, needed = dict(groups), set[Key]()
    seconds = until - time.monotonic()
    for patience in PATIENCE:
        for key in [key for key in kept if key not in needed]:
            rest = {name: columns for name, columns in kept.items() if name != key}
            patient_s = max(seconds * patience, LEAST_SECONDS)
            question_until = min(until, time.monotonic() + patient_s)
            holds = elastic.holds(always.union(*rest.values()), question_until)
            if holds is False:
                kept = rest
            elif holds:
                needed.add(key)
    return kept, needed >= kept.keys()


def core(elastic: Elastic, until: float) -> Columns | None:
    """Rows of few rules that cannot hold together even in fractions; None if there are none.

    Empty where the places cannot be filled whatever the rules. Rules that give are made firm
    until nothing can hold; then those that are not needed for that are left out.
    """
    parts: set[int] = set()
    while True:
        firm = elastic.places | elastic.of_parts(parts)
        relaxed = elastic.in_fractions(firm, until)
        if elastic.impossible(firm):
            break
        more = relaxed and elastic.parts_of(relaxed.broken)
        if not more and len(parts) < len(elastic.parts):
            more = frozenset(range(len(elastic.parts)))  # firm, a row shuts runs: ask once more
        if relaxed is None or not more:
            return None
        parts |= more
    rows = {part: elastic.of_parts([part]) for part in sorted(parts)}
    kept = _without_in_fractions(elastic, rows, elastic.places, until)
    return frozenset().union(*kept.values())


def _without_in_fractions(
    elastic: Elastic, groups: dict[Key, Columns], always: Columns, until: float
) -> dict[Key, Columns]:
    """Groups of those given that still fail with `always` even in fractions, none too many.

    All of them must be known to. Half of them are left out at once where that is possible
    (Junker 2004, "QuickXplain"); what is not known in time is kept.
    """
    keys = _needed(elastic, groups, list(groups), always, until)
    return {key: groups[key] for key in keys}


def _needed(
    elastic: Elastic, groups: dict[Key, Columns], keys: list[Key], firm: Columns, until: float
) -> list[Key]:
    """Of `keys`, whose groups fail with `firm`, those that are needed for it."""
    elastic.in_fractions(firm, until)
    if elastic.impossible(firm):
        return []
    if len(keys) == 1:
        return keys
    first, second = keys[: len(keys) // 2], keys[len(keys) // 2 :]
    late = _needed(elastic, groups, second, firm.union(*(groups[key] for key in first)), until)
    early = _needed(elastic, groups, first, firm.union(*(groups[key] for key in late)), until)
    return early + late


def conflicting(
    elastic: Elastic, known: Columns | None, until: float
) -> tuple[Columns, bool]:
    """Rows of hard rules that cannot hold together: no rule too many, then no day too many.

    `known`: rows known not to hold together, if any are (`core`).
    """
    by_part: dict[int, set[int]] = defaultdict(set)
    for column in elastic.rule_columns if known is None else known:
        by_part[elastic.gives[column].part].add(column)
    parts = {part: frozenset(columns) for part, columns in sorted(by_part.items())}
    kept, sure = shortest(elastic, parts, elastic.places, part_of(until, RULES_SHARE))
    return _on_fewer_days(elastic, frozenset().union(*kept.values()), until), sure


def _on_fewer_days(elastic: Elastic, rows: Columns, until: float) -> Columns:
    """First whole days are left out, then single days of single rules."""
    for with_part in (False, True):
        groups: dict[Hashable, set[int]] = defaultdict(set)
        for column in sorted(rows):
            give = elastic.gives[column]
            if give.day is not None:
                groups[give.day, give.part if with_part else None].add(column)
        undated = frozenset(c for c in rows if elastic.gives[c].day is None)
        frozen = {key: frozenset(columns) for key, columns in groups.items()}
        if frozen and elastic.impossible(elastic.places | undated.union(*frozen.values())):
            frozen = _without_in_fractions(elastic, frozen, elastic.places | undated, until)
        kept, _ = shortest(elastic, frozen, elastic.places | undated, until)
        rows = undated.union(*kept.values())
    return rows
