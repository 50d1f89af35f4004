"""The shortest conflict: take away what a conflict does not need, piece by piece."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Hashable
from typing import TypeVar

from optimiser.elastic import Columns, Elastic

Key = TypeVar("Key", bound=Hashable)

PATIENCE = (1 / 20, 1 / 6, 1 / 2)
"""Fractions of the time for one question, when first asked and when asked again.

That rules cannot hold is mostly shown at once; that they can takes a whole week.
"""

LEAST_SECONDS = 0.4


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


def conflicting(elastic: Elastic, until: float) -> tuple[Columns, bool]:
    """Rows of hard rules that cannot hold together: no rule too many, then no day too many."""
    by_part: dict[int, set[int]] = defaultdict(set)
    for column in elastic.rule_columns:
        by_part[elastic.gives[column].part].add(column)
    parts = {part: frozenset(columns) for part, columns in sorted(by_part.items())}
    now = time.monotonic()
    rules_until = now + (until - now) * 2 / 3
    parts = _likely(elastic, parts, rules_until)
    kept, sure = shortest(elastic, parts, elastic.places, rules_until)
    return _on_fewer_days(elastic, frozenset().union(*kept.values()), until), sure


def _likely(
    elastic: Elastic, parts: dict[int, Columns], until: float
) -> dict[int, Columns]:
    """A few rules that cannot hold together even in fractions; all if there are none.

    Rules that give are made firm, until something else gives or nothing can.
    """
    core: set[int] = set()
    while True:
        firm = elastic.places.union(*(parts[part] for part in core))
        broken = elastic.broken_in_fractions(firm, until)
        if elastic.impossible(firm):
            return {part: parts[part] for part in sorted(core)}
        if not broken:
            return parts
        core |= {elastic.gives[column].part for column in broken}


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
        kept, _ = shortest(elastic, frozen, elastic.places | undated, until)
        rows = undated.union(*kept.values())
    return rows
