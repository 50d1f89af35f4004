"""Other good weeks: nearly as good as the week in hand, and as different from it and from each
other as can be.

    good_weeks(week, plan, within_cents=2000)
One week after the other: each has as many places as possible, a place being a dish on show on
a day, that the nearest of those before has not:
    maximise d   d ≤ places - Σ places of week i that the new week has too, for each week i before
                 margin ≥ margin of the plan - within
First the whole model is asked, which proves small cafes; then neighbourhoods are freed, as when
a week is improved. What is handed out has passed the verifier.
"""

from __future__ import annotations

import math
import random
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from optimiser.blocks import Blocks
from optimiser.finish import finished
from optimiser.lp import Lp, Row
from optimiser.near import Near
from optimiser.nearby import Nearby
from optimiser.neighbourhoods import ROUND_NODES, ROUND_SECONDS, Neighbourhoods, held
from optimiser.plan import Plan
from optimiser.progress import Progress, Report
from optimiser.solver import Limits, Solver, Values
from optimiser.week import Week

WHOLE_SHARE = 0.4
"""Of the time for one week, what the whole model may take."""
PLACE_CENTS = 1000.0
"""What one more place is worth while weeks are improved, beside their margin."""

LEAST_CENTS = 0.001
"""What other packs have to bring to be taken."""

Place = tuple[date, str]


@dataclass(frozen=True)
class GoodWeek:
    """A verified week that earns `short_cents` less than the plan (negative: more), as the
    model counts, before the books round.

    `different`: places that it does not share with the nearest other one, the plan or a week
    found. `proven`: no week within the money has more places that those before it have not.
    """

    plan: Plan
    short_cents: float
    different: int
    proven: bool = False


@dataclass(frozen=True)
class _Found:
    """`places` that none of those before share, and no week has more than `at_most`."""

    values: Values
    places: int
    at_most: int


def good_weeks(
    week: Week,
    plan: Plan,
    within_cents: float,
    count: int = 3,
    seconds: float = 60.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
) -> list[GoodWeek]:
    """Up to `count` weeks other than the plan's, none short of it by more than `within_cents`.

    Fewer if no others are there, or none were found in time. Raises ValueError if the plan
    cannot be kept as the tables are now.
    """
    near = Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    ends = time.monotonic() + seconds
    stop = stop or threading.Event()
    known = [near.kept.values]
    chosen: list[tuple[Plan, float, bool]] = []
    for number in range(count):
        left = (ends - time.monotonic()) / (count - number)
        if stop.is_set() or left <= 0:
            break
        apart = _Apart(near, known, near.kept.margin_cents - within_cents)
        _say(report, seconds - (ends - time.monotonic()), number, count, near)
        found = apart.search(left, stop)
        if found.places == 0:
            break
        values = _best_packs(near, found.values)
        margin = near.lp.value(values)
        other = near.plan_of(Near((), (), margin, math.inf, values))
        chosen.append((other, near.kept.margin_cents - margin, found.places >= found.at_most))
        known.append(values)
    return _told(plan, chosen)


def _say(report: Report | None, seconds: float, number: int, of: int, near: Nearby) -> None:
    if report is not None and near.kept is not None:
        report(Progress(seconds, f"week {number + 1} of {of}", near.kept.margin_cents, None))


def _told(plan: Plan, chosen: Sequence[tuple[Plan, float, bool]]) -> list[GoodWeek]:
    places = [_places(plan), *(_places(other) for other, _, _ in chosen)]
    weeks = []
    for number, (other, short_cents, proven) in enumerate(chosen, 1):
        nearest = min(len(places[number] - one) for n, one in enumerate(places) if n != number)
        weeks.append(GoodWeek(other, short_cents, nearest, proven))
    return weeks


def _places(plan: Plan) -> set[Place]:
    return {(row.date, row.dish) for row in plan.shown}


def _best_packs(near: Nearby, values: Values) -> Values:
    """The same menu with the packs and pieces that earn most, by the vans that bring something:
    who asks for places only may order one for nothing."""
    while True:
        settled = {j: float(round(values[j])) for j in near.blocks.settled}
        settled |= near.vans_of(finished(near.model, values))
        blocks = Blocks(near.lp, settled, near.memory)
        best = blocks.best({}) if blocks.kept else None
        if best is None or near.lp.value(best[1]) <= near.lp.value(values) + LEAST_CENTS:
            return values
        values = best[1]


class _Apart:
    """The model of a week that is apart from the weeks before."""

    def __init__(self, near: Nearby, before: Sequence[Values], least_cents: float) -> None:
        self._near, self._least = near, least_cents
        self._boards = [self._board(values) for values in before]
        self._all = len(self._boards[0])
        lp = near.lp
        self._column = len(lp.names)
        self._lp = Lp(
            names=[*lp.names, "different"],
            low=[*lp.low, 0.0],
            high=[*lp.high, float(self._all)],
            integer=[*lp.integer, True],
            gain=self._guiding(lp.gain),
            rows=[*lp.rows, *self._rows()],
            constant=lp.constant,
        )
        self._start = [*before[0], 0.0]

    def _board(self, values: Values) -> set[Place]:
        model = self._near.model
        return {
            (day, run.dish)
            for run in model.runs
            if values[model.run_column[run.index]] > 0.5
            for day in run.shown
        }

    def _rows(self) -> list[Row]:
        model, lp = self._near.model, self._near.lp
        rows = []
        for number, board in enumerate(self._boards):
            shared = {
                model.run_column[run.index]: float(
                    sum((day, run.dish) in board for day in run.shown)
                )
                for run in model.runs
            }
            terms = {j: places for j, places in shared.items() if places} | {self._column: 1.0}
            rows.append(Row(f"apart__{number}", terms, None, float(self._all)))
        earned = {j: gain for j, gain in enumerate(lp.gain) if gain}
        return [*rows, Row("good_enough", earned, self._least - lp.constant, None)]

    def _guiding(self, gain: list[float]) -> list[float]:
        """Each place apart from each week before counts beside the margin, and those apart
        from the nearest once more."""
        guiding = [*gain, PLACE_CENTS]
        for row in self._rows():
            if row.high is not None:
                for j, places in row.terms.items():
                    guiding[j] -= PLACE_CENTS * places if j != self._column else 0.0
        return guiding

    def search(self, seconds: float, stop: threading.Event) -> _Found:
        """The furthest week found in this time."""
        ends = time.monotonic() + seconds
        places_only = replace(self._lp, gain=[0.0] * self._column + [1.0], constant=0.0)
        solved = Solver(places_only).solve(
            Limits(seconds * WHOLE_SHARE, gap_cents=0.9), start=self._start, stop=stop.is_set
        )
        at_most = min(self._all, math.floor(min(solved.bound, self._all) + 1e-6))
        values = solved.values or self._start
        if self._apart(values) < at_most:
            values = self._improved(values, at_most, ends, stop)
        return _Found(values[: self._column], self._apart(values), at_most)

    def _apart(self, values: Values) -> int:
        board = self._board(values)
        return min(len(board - other) for other in self._boards)

    def _improved(self, values: Values, at_most: int, ends: float, stop: threading.Event) -> Values:
        """Frees one neighbourhood after the other and keeps what is further or earns more."""
        solver = Solver(self._lp, presolve=True)
        around = Neighbourhoods(self._near.model, random.Random(1))
        while self._apart(values) < at_most and not stop.is_set():
            left = ends - time.monotonic()
            if left <= 0:
                break
            _, free = around.choose(values)
            solver.restrict(held(self._near.model, values, free))
            limits = Limits(min(ROUND_SECONDS, left), ROUND_NODES, gap_cents=PLACE_CENTS / 10)
            solved = solver.solve(limits, start=values, stop=stop.is_set)
            better = solved.values is not None and (
                self._lp.value(solved.values) > self._lp.value(values) + 1.0
            )
            if better and solved.values is not None:
                values = solved.values
            around.learn(better, solved.closed(PLACE_CENTS / 10))
        return values
