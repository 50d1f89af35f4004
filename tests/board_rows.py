"""The rows of a rule over real runs, written once and evaluated on board after board.

There is no solver and no shopping: what a board alone decides has a value (which runs
take place, which cooked parts are made for them), and a rule that asks for anything
else is told that it is not on a board.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from optimiser import demand
from optimiser.display_order import placed
from optimiser.model import Model
from optimiser.plan import Cook, Plan, Shown
from optimiser.rules import Rule
from optimiser.runs import Run
from optimiser.week import Week
from tests.fake_rows import FakeRow, FakeRows, Helper, Terms

TOLERANCE = 0.01
"""Grams, minutes and cents below this are rounding."""


class NotOnABoard(Exception):
    """A rule asks for something that follows from shopping and storage."""


@dataclass(frozen=True)
class PartCook:
    """A variable: 1 if a part is cooked for other dishes alone, or its portions for them."""

    dish: str
    day: date
    portions: bool


@dataclass(frozen=True)
class Board:
    """A filled cabinet: the runs, the parts that are cooked for them, and the plan of it."""

    runs: tuple[Run, ...]
    values: dict[Any, float]
    plan: Plan


def board_of(model: Model, runs: tuple[Run, ...]) -> Board:
    """A board whose cooked parts are made afresh, in whole steps, on the day they are used."""
    cafe, week = model.cafe, model.week
    cooks = [
        Cook(date=run.cook_day, dish=run.dish, portions=run.portions, shown=run.shown)
        for run in runs
    ]
    values: dict[Any, float] = dict.fromkeys(runs, 1.0)
    for part in model.components:
        for day in week.open_dates:
            grams = sum(run.uses_g.get(part, 0.0) for run in runs if run.cook_day == day)
            dish = cafe.dishes[part]
            steps = math.ceil(grams / dish.portion_g / dish.step_portions - 1e-9)
            if steps > 0:
                portions = steps * dish.step_portions
                cooks.append(Cook(date=day, dish=part, portions=portions))
                values[PartCook(part, day, False)] = 1.0
                values[PartCook(part, day, True)] = float(portions)
    takings = sum(run.takings_cents for run in runs)
    plan = Plan(
        week=week.start,
        days=week.days,
        planned_on=week.planned_on,
        currency=cafe.currency,
        objective_cents=0,
        terms_cents={"takings": takings},
        cooks=tuple(cooks),
        shown=tuple(placed(cafe, (row for run in runs for row in _showings(model, run)))),
    )
    return Board(runs, values, plan)


def _showings(model: Model, run: Run) -> list[Shown]:
    dish = model.cafe.dishes[run.dish]
    portions = demand.shares(model.cafe, dish, run.shown, run.portions)
    place = {"course": run.course, "dish": run.dish, "cooked_on": run.cook_day}
    return [
        Shown(date=day, portions=share, **place)
        for day, share in zip(run.shown, portions, strict=True)
    ]


@dataclass
class BoardRows(FakeRows):
    """Rows written once; `breaches_on` evaluates them on a board.

    Rows that share no helper, directly or through others, are broken independently of
    each other: each such group is solved by itself, and once for all boards that leave
    it the same amounts.
    """

    values: dict[Any, float] = field(default_factory=dict)
    _groups: list[tuple[list[FakeRow], list[FakeRow]]] = field(default_factory=list)
    _solved: dict[tuple[int, tuple[float, ...]], list[float]] = field(default_factory=dict)

    def breaches_on(self, board: Board) -> list[float]:
        """Excess of each broken row, the smallest first."""
        self.values = board.values
        found = (excess for number in range(len(self._groups)) for excess in self._broken(number))
        return sorted(excess for excess in found if excess > TOLERANCE)

    def _broken(self, number: int) -> list[float]:
        """Excesses of one group of rows."""
        rows, definitions = self._groups[number]
        amounts = tuple(round(self._excess(row), 9) for row in [*rows, *definitions])
        if not any(isinstance(v, Helper) for row in [*rows, *definitions] for v, _ in row.terms):
            return list(amounts[: len(rows)])
        key = (number, amounts)
        if key not in self._solved:
            self._solved[key] = self._least_excesses(rows, definitions)
        return self._solved[key]

    def close(self) -> None:
        """No more rows: sort them into groups."""
        keys = [row.key for row in self.rows]
        assert len(set(keys)) == len(keys), "two rows of one rule share a name"
        groups: list[tuple[set[Helper], list[FakeRow]]] = []
        for row in [*self.rows, *self.definitions]:
            helpers = {v for v, _ in row.terms if isinstance(v, Helper)}
            joined = [row]
            for group in [group for group in groups if group[0] & helpers]:
                groups.remove(group)
                helpers |= group[0]
                joined += group[1]
            groups.append((helpers, joined))
        firm = {id(row) for row in self.definitions}
        self._groups = [
            ([r for r in rows if id(r) not in firm], [r for r in rows if id(r) in firm])
            for _, rows in groups
        ]

    def _value(self, variable: Any) -> float:
        return self.values.get(variable, 0.0)

    def batches(self, dish: str, day: date, per_cook: float, per_portion: float) -> Terms:
        used = {line.item for one in self.week.cafe.dishes.values() for line in one.lines}
        if dish not in used:
            return []
        alone, portions = PartCook(dish, day, False), PartCook(dish, day, True)
        return [(alone, per_cook), (portions, per_portion)]

    def left_g(self, item: str) -> Any:
        raise NotOnABoard(f"what is left of {item}")

    def unfinished_g(self, item: str, day: date) -> Any:
        raise NotOnABoard(f"what is opened of {item}")

    def stretched(self, dish: str, item: str, day: date) -> Any:
        raise NotOnABoard(f"how much {item} a cook of {dish} takes")

    def on_hand_g(self, item: str, day: date) -> Any:
        raise NotOnABoard(f"what is there of {item}")

    def used_from_stock(self, lot: str) -> Any:
        raise NotOnABoard(f"what is used of {lot}")

    def spend(
        self, day: date | None = None, supplier: str | None = None, fresh_only: bool = False
    ) -> Any:
        raise NotOnABoard("what is bought")


def board_rows(rule: Rule, week: Week, runs: Iterable[Run], plan: Plan) -> BoardRows:
    """The rows of a rule. Raises NotOnABoard if they depend on more than the board."""
    model = BoardRows(week, plan, tuple(runs))  # type: ignore[arg-type]
    rule.add_to(model)
    model.close()
    return model
