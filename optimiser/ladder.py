"""Better menus, menus with a dish and menus without it, at one, two, three changed cooks.

One change is looked at in full. Several changes are solved exactly among the cooks that look
likely: those whose coming alone brings most, and those that would if the rules let them in alone.
A step of a ladder is never worse than the one before.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import islice

from optimiser.exchanges import Exchange
from optimiser.near import Ask, Change, Near
from optimiser.nearby import Nearby
from optimiser.progress import Report
from optimiser.runs import Run
from optimiser.together import MOST_ALONE, together

LIKELY = 30
"""Cooks that may come in where several change: more take longer than a person waits."""

MOST_FILLERS = 12

Stop = threading.Event | None


def likely(near: Nearby, found: Iterable[Change], most: int) -> tuple[Run, ...]:
    """Cooks that may come in: two thirds of them by what they bring alone, the rest by guess.

    `found`: best first; of no more is it asked than are needed.
    """
    runs = list(islice(_different(change.exchange.enters for change in found), most * 2 // 3))
    others = _likeliest(_open_runs(near))
    for run in (*(exchange.enters for exchange in near.exchanges()), *others):
        if len(runs) >= most:
            break
        if run not in runs:
            runs.append(run)
    return tuple(runs)


def fillers(near: Nearby, coming: Iterable[Run], gone: Iterable[Run] = ()) -> tuple[Run, ...]:
    """The likeliest cooks for days left empty where one of `coming` takes some of the days of a
    longer cook, or where one of `gone` leaves."""
    gaps = {(run.course, frozenset(run.shown)) for run in gone}
    for run in coming:
        for cook in near.menu:
            if cook.course == run.course and not set(run.shown).isdisjoint(cook.shown):
                gaps.add((run.course, frozenset(cook.shown).difference(run.shown)))
    fit = (
        run
        for run in _open_runs(near)
        if any(run.course == course and days.issuperset(run.shown) for course, days in gaps)
    )
    return _likeliest(fit)[:MOST_FILLERS]


def _open_runs(near: Nearby) -> Iterator[Run]:
    """Runs that no rule forbids on its own."""
    return (run for run in near.model.runs if near.lp.high[near.model.run_column[run.index]] != 0)


def _likeliest(runs: Iterable[Run]) -> tuple[Run, ...]:
    """By what they bring a day."""
    return tuple(
        sorted(runs, key=lambda run: (-Exchange(run, ()).guess_cents / len(run.shown), run.index))
    )


def better_menus(
    near: Nearby,
    changes: int = 2,
    seconds: float = 30.0,
    report: Report | None = None,
    stop: Stop = None,
) -> list[Near]:
    """The best menus with 0, 1, ... `changes` cooks changed; empty if the menu cannot be kept.

    `seconds` is for each step of several changes.
    """
    if near.kept is None:
        return []
    steps = [near.kept]
    if changes >= 1:
        steps.append(_better(steps[-1], near.best_change(report, stop)))
        for count in range(2, changes + 1):
            if stop is not None and stop.is_set():
                break
            alone = list(islice(near.changes(report, stop), MOST_ALONE))
            start = _best_start(steps[-1], together(near, alone, alone, count))
            coming = () if start is None else start.enters
            among = dict.fromkeys([*coming, *likely(near, near.changes(report, stop), LIKELY)])
            ask = Ask(count, tuple(among))
            best = near.few_changes(ask, seconds, start, report, stop)
            steps.append(_better(steps[-1], best))
    return steps


def menus_with(
    near: Nearby,
    dish: str,
    day: date | None = None,
    changes: int = 3,
    seconds: float = 30.0,
    report: Report | None = None,
    stop: Stop = None,
) -> list[Near | None]:
    """The best menus that have a dish (on `day`, or on any), with 1, 2, ... cooks changed.

    None where there is none so near. Empty if the menu cannot be kept.
    """
    if near.kept is None:
        return []
    wanted = near.runs_of(dish, day)
    if not wanted:
        return [None] * changes
    numbers = {run.index for run in wanted}
    coming, first = near.one_change(lambda e: e.enters.index in numbers, report, stop)
    steps: list[Near | None] = [first]
    for count in range(2, changes + 1):
        if stop is not None and stop.is_set():
            break
        most = max(10, LIKELY - len(wanted))
        found = near.changes(report, stop)
        alone = list(islice(near.changes(report, stop), MOST_ALONE))
        start = _best_start(steps[-1], together(near, coming, alone, count))
        entering = () if start is None else start.enters
        among = dict.fromkeys([*entering, *likely(near, found, most), *fillers(near, wanted)])
        ask = Ask(count, tuple(among), must=tuple(wanted))
        best = near.few_changes(ask, seconds, start, report, stop)
        steps.append(_better(steps[-1], best) if steps[-1] else best)
    return steps


def menus_without(
    near: Nearby,
    dish: str,
    changes: int = 1,
    seconds: float = 30.0,
    report: Report | None = None,
    stop: Stop = None,
) -> list[Near | None]:
    """The best menus without a dish, with 0, 1, ... other cooks changed besides."""
    if near.kept is None:
        return []
    barred = near.runs_of(dish)
    numbers = {run.index for run in barred}
    own = {run.index for run in near.menu} & numbers
    replacing, _ = near.one_change(
        lambda e: e.enters.index not in numbers and own.issuperset(run.index for run in e.leaves),
        report,
        stop,
    )
    steps: list[Near | None] = []
    before: Near | None = None
    for count in range(changes + 1):
        if stop is not None and stop.is_set():
            break
        runs = _first_of(c.exchange.enters for c in replacing)
        gone = [run for run in near.menu if run.index in own]
        others = (*likely(near, replacing, 60), *fillers(near, (), gone))
        among = tuple(run for run in dict.fromkeys([*runs, *others]) if run.index not in numbers)
        best = near.few_changes(Ask(count, among, without=barred), seconds, before, report, stop)
        before = _better(before, best) if before else best
        steps.append(before)
    return steps


def _different(runs: Iterable[Run]) -> Iterator[Run]:
    """Each of them once."""
    seen: set[int] = set()
    for run in runs:
        if run.index not in seen:
            seen.add(run.index)
            yield run


def _first_of(runs: Iterable[Run], most: int = 40) -> list[Run]:
    return list(islice(_different(runs), most))


def _best_start(*known: Near | None) -> Near | None:
    """The best of the menus known to begin with."""
    return max((one for one in known if one), key=lambda one: one.margin_cents, default=None)


def _better(before: Near, best: Near | None) -> Near:
    """The better of two menus; the bound is that of the wider neighbourhood."""
    if best is None:
        return Near(
            before.enters, before.leaves, before.margin_cents, math.inf, before.values, before.among
        )
    if best.margin_cents >= before.margin_cents - 0.5:
        return best
    bound = max(best.bound_cents, before.margin_cents)
    return Near(before.enters, before.leaves, before.margin_cents, bound, before.values, best.among)
