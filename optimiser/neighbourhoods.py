"""Which runs to set free next: neighbourhoods of several kinds, sized by how they do."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable

from optimiser.model import Model
from optimiser.solver import Values

FIRST_RUNS, FEWEST_RUNS, MOST_RUNS = 100, 40, 900


ROUND_NODES, ROUND_SECONDS = 30, 3.0
"""What one neighbourhood may take; seconds only where the clock counts at all."""


def held(model: Model, values: Values, free: set[int]) -> dict[int, tuple[float, float]]:
    """Bounds that free these runs and the packs and pieces of all they use, no others."""
    bounds = {
        column: (0.0, 1.0) if run in free else (float(round(values[column])),) * 2
        for run, column in model.run_column.items()
    }
    touched = used_items(model, free)
    for item, columns in model.lumps_of().items():
        for j in columns:
            high = model.lp.high[j]
            wide = (0.0, math.inf if high is None else high)
            bounds[j] = wide if item in touched else (float(round(values[j])),) * 2
    return bounds


def used_items(model: Model, runs: Iterable[int]) -> set[str]:
    """What these runs use, and what the cooked parts among it are made of."""
    ahead = {item for run in runs for item in model.runs[run].uses_g}
    used: set[str] = set()
    while ahead:
        item = ahead.pop()
        used.add(item)
        if item in model.cafe.dishes:
            ahead |= {line.item for line in model.cafe.dishes[item].lines} - used
    return used


class Neighbourhoods:
    """Chooses sets of run numbers; each kind adapts how many it frees."""

    def __init__(self, model: Model, rng: random.Random) -> None:
        self._model, self._rng = model, rng
        self._kinds: dict[str, Callable[[Values, int], set[int]]] = {
            "some of the dishes": self._some_dishes,
            "dishes that share an ingredient": self._sharing_dishes,
            "one course on some days": self._course_days,
            "one course": self._course_dishes,
        }
        self._size = dict.fromkeys(self._kinds, float(FIRST_RUNS))
        self._gain = dict.fromkeys(self._kinds, 1.0)
        self._last = ""
        self._runs_of: dict[str, list[int]] = {}
        self._course_of: dict[str, str] = {}
        self._users: dict[str, set[str]] = {}
        for run in model.runs:
            if model.lp.high[model.run_column[run.index]] == 0:
                continue
            self._runs_of.setdefault(run.dish, []).append(run.index)
            self._course_of[run.dish] = run.course
            for item in run.uses_g:
                self._users.setdefault(item, set()).add(run.dish)
        lumpy = model.lumps_of()
        self._shared = sorted(
            item for item, users in self._users.items() if item in lumpy and len(users) > 1
        )

    def choose(self, values: Values) -> tuple[str, set[int]]:
        """A kind (better ones more often) and the runs it frees."""
        kinds = list(self._kinds)
        self._last = self._rng.choices(kinds, [self._gain[kind] for kind in kinds])[0]
        return self._last, self._kinds[self._last](values, round(self._size[self._last]))

    def learn(self, better: bool, closed: bool) -> None:
        """Kinds that help are chosen more; sizes grow when closed, shrink when not."""
        kind = self._last
        self._gain[kind] = 0.85 * self._gain[kind] + 0.15 * (2.0 if better else 0.3)
        factor = 0.85 if not closed else 1.0 if better else 1.12
        self._size[kind] = min(MOST_RUNS, max(FEWEST_RUNS, self._size[kind] * factor))

    def _take(self, dishes: list[str], most: int) -> set[int]:
        """Runs of these dishes in turn, until there are enough."""
        free: set[int] = set()
        for dish in dishes:
            free.update(self._runs_of[dish])
            if len(free) >= most:
                break
        return free

    def _shuffled(self, dishes: set[str]) -> list[str]:
        return self._rng.sample(sorted(dishes), len(dishes))

    def _on_show(self, values: Values) -> set[str]:
        column = self._model.run_column
        return {
            dish
            for dish, runs in self._runs_of.items()
            if any(values[column[run]] > 0.5 for run in runs)
        }

    def _some_dishes(self, values: Values, most: int) -> set[int]:
        return self._take(self._shuffled(set(self._runs_of)), most)

    def _course_dishes(self, values: Values, most: int) -> set[int]:
        course = self._rng.choice(sorted(set(self._course_of.values())))
        dishes = {dish for dish, own in self._course_of.items() if own == course}
        return self._take(self._shuffled(dishes), most)

    def _sharing_dishes(self, values: Values, most: int) -> set[int]:
        """Users of an ingredient bought in lumps, and as many dishes now on show to swap."""
        if not self._shared:
            return self._some_dishes(values, most)
        users = self._users[self._rng.choice(self._shared)]
        sharing = self._take(self._shuffled(users), most * 2 // 3)
        courses = {self._course_of[dish] for dish in users}
        shown = {d for d in self._on_show(values) - users if self._course_of[d] in courses}
        return sharing | self._take(self._shuffled(shown), most - len(sharing))

    def _course_days(self, values: Values, most: int) -> set[int]:
        """All runs of one course on a few days, drawn until there are enough."""
        days = list(self._model.week.open_dates)
        self._rng.shuffle(days)
        course = self._rng.choice(sorted(set(self._course_of.values())))
        free: set[int] = set()
        for day in days:
            for dish, runs in self._runs_of.items():
                if self._course_of[dish] == course:
                    free.update(r for r in runs if day in self._model.runs[r].shown)
            if len(free) >= most:
                break
        return free
