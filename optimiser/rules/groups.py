"""Dishes by group and days by week: what several rules about variety share."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.words import on


def weeks_of(start: date, days: Iterable[date]) -> list[tuple[date, ...]]:
    """Days in weeks of seven calendar days from `start`; weeks without any are left out."""
    weeks: dict[int, list[date]] = defaultdict(list)
    for day in days:
        weeks[(day - start).days // 7].append(day)
    return [tuple(one) for one in weeks.values()]


def week_from(plan: Plan, breach: Breach) -> str:
    """Which week of a long plan a breach is about: ` from Mon 2026-01-12`, or nothing."""
    return f" from {on(breach.day)}" if breach.day and plan.days > 7 else ""


def places(cafe: Cafe, course: str | None) -> int:
    """Places in the cabinet on one day, of one course or of all."""
    return sum(one.slots for name, one in cafe.courses.items() if course in (None, name))


def cap_faults(
    cafe: Cafe, course: str | None, group_of: Mapping[str, str | None], most: int
) -> list[str]:
    """A fault if the places of a single day cannot be filled with `most` dishes a group.

    Room: Σ over groups of min(dishes of the group, most), and dishes without a group.
    """
    sizes = Counter(group for group in group_of.values() if group is not None)
    loose = len(group_of) - sum(sizes.values())
    asked = min(places(cafe, course), len(group_of))  # too few dishes is no fault of the rule

    def room(cap: int) -> int:
        return loose + sum(min(size, cap) for size in sizes.values())

    if room(most) >= asked:
        return []
    enough = next(cap for cap in range(most, asked + 1) if room(cap) >= asked)
    return [
        f"at {most} of a kind only {room(most)} of {asked} places a day can be filled; "
        f"allow {enough}"
    ]
