"""Which runs to set free next: neighbourhoods of several kinds, sized by how they do."""

from __future__ import annotations

import random
from collections.abc import Callable

from optimiser.model import Model
from optimiser.solver import Values

SMALLEST, LARGEST = 0.1, 0.9


class Neighbourhoods:
    """Chooses sets of run numbers; each kind adapts its own size."""

    def __init__(self, model: Model, rng: random.Random) -> None:
        self._model, self._rng = model, rng
        self._kinds: dict[str, Callable[[float], set[int]]] = {
            "neighbouring days": self._days,
            "some of the dishes": self._dishes,
            "one ingredient": self._ingredient,
            "one course": self._course,
        }
        self._size = dict.fromkeys(self._kinds, 0.34)
        self._gain = dict.fromkeys(self._kinds, 1.0)
        self._last = ""
        self._users: dict[str, set[str]] = {}
        for run in model.runs:
            for item in run.uses_g:
                self._users.setdefault(item, set()).add(run.dish)

    def choose(self, values: Values) -> tuple[str, set[int]]:
        """A kind (better ones more often) and the runs it frees."""
        kinds = list(self._kinds)
        self._last = self._rng.choices(kinds, [self._gain[kind] for kind in kinds])[0]
        return self._last, self._kinds[self._last](self._size[self._last])

    def learn(self, better: bool, proven: bool) -> None:
        """Kinds that help are chosen more; sizes grow when solved, shrink when not."""
        kind = self._last
        self._gain[kind] = 0.8 * self._gain[kind] + 0.2 * (2.0 if better else 0.3)
        factor = 1.15 if proven and not better else 1.0 if proven else 0.85
        self._size[kind] = min(LARGEST, max(SMALLEST, self._size[kind] * factor))

    def _days(self, size: float) -> set[int]:
        days = self._model.week.open_dates
        count = min(len(days), max(2, round(size * len(days))))
        first = self._rng.randrange(len(days) - count + 1)
        chosen = set(days[first : first + count])
        return {run.index for run in self._model.runs if chosen & {run.cook_day, *run.shown}}

    def _dishes(self, size: float) -> set[int]:
        dishes = sorted({run.dish for run in self._model.runs})
        chosen = set(self._rng.sample(dishes, max(2, round(size * len(dishes)))))
        return {run.index for run in self._model.runs if run.dish in chosen}

    def _ingredient(self, size: float) -> set[int]:
        items = sorted(item for item, users in self._users.items() if len(users) > 1)
        if not items:
            return self._dishes(size)
        most = max(2, round(size * len({run.dish for run in self._model.runs})))
        chosen: set[str] = set()
        for item in self._rng.sample(items, len(items)):
            extra = self._users[item] - chosen
            chosen |= set(self._rng.sample(sorted(extra), min(len(extra), most - len(chosen))))
            if len(chosen) >= most:
                break
        return {run.index for run in self._model.runs if run.dish in chosen}

    def _course(self, size: float) -> set[int]:
        courses = sorted({run.course for run in self._model.runs})
        course = self._rng.choice(courses)
        return {run.index for run in self._model.runs if run.course == course}
