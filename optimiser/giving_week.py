"""A good week in which some rules give as little as they must, chosen day by day.

The rules that give get a price far above any gain; all others stay as they are. Then
neighbourhoods are freed, as when any week is improved.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from optimiser.ease import week_of_menu
from optimiser.elastic import TINY, Elastic
from optimiser.first_menu import Care, day_by_day
from optimiser.giving import CENTS_PER_PCT, Columns, Mend
from optimiser.lp import Lp
from optimiser.model import Model
from optimiser.neighbourhoods import ROUND_NODES, ROUND_SECONDS, Neighbourhoods, held
from optimiser.solver import Limits, Solver, Values

DEARER = 30.0
"""So many times the charge for a rule that another is to spare."""

LEAST_GAIN_CENTS = 1_000.0
"""Of a round: a tenth of a percent, or ten dollars of margin."""

MOST_VAIN_ROUNDS = 15
"""After so many rounds in a row without any gain a week is left as it is."""

CARES = (
    Care(runs=300, menu_gap=0.1, packs_gap=0.1, packs_nodes=1, menu_nodes=4),
    Care(runs=600, menu_gap=0.1, packs_gap=0.1, packs_nodes=1, menu_nodes=4),
)
"""The first menu that will do, of few runs or else of more."""


@dataclass
class GivingWeek:
    """A week of `model`, weighed by `lp`: the same but for what giving is charged.

    `prices`: its columns of breach, and what a unit of each would be charged if none were dearer.
    """

    elastic: Elastic
    model: Model
    lp: Lp
    prices: dict[int, float]
    values: Values

    def mend(self) -> Mend:
        """What gives in it."""
        names, values = self.model.lp.names, self.values
        place = {self.elastic.lp.names[column]: column for column in self.elastic.gives}
        pct_of = {
            place[names[j]]: values[j] * cents / CENTS_PER_PCT
            for j, cents in self.prices.items()
            if values[j] > TINY
        }
        self.elastic.remember(frozenset(pct_of))
        return Mend(values, pct_of, False, self.model)

    def sparing(self, parts: frozenset[int], until: float) -> GivingWeek:
        """Another week made from this one, in which these parts give as little as can be."""
        ours = {f"r{number}_{self.elastic.parts[number].rule.kind}" for number in parts}
        gain = list(self.model.lp.gain)
        for column in self.prices:
            if self.model.lp.names[column].split("__", 1)[0] in ours:
                gain[column] *= DEARER
        other = replace(self, lp=replace(self.lp, gain=gain))
        other.improve(until)
        return other

    def improve(self, until: float) -> bool:
        """Give less, or earn more, as far as time allows; whether it does."""
        lp, first = self.lp, self.values
        solver = Solver(lp, presolve=True)
        around = Neighbourhoods(self.model, random.Random(0))
        vain = 0
        while vain < MOST_VAIN_ROUNDS and not self.elastic.over(until):
            _, free = around.choose(self.values)
            solver.restrict(held(self.model, self.values, free))
            left = min(ROUND_SECONDS, until - time.monotonic())
            limits = Limits(left, ROUND_NODES, LEAST_GAIN_CENTS)
            found = solver.solve(limits, start=self.values, stop=self.elastic.stop.is_set)
            better = found.values is not None and (
                lp.value(found.values) > lp.value(self.values) + LEAST_GAIN_CENTS
            )
            if better and found.values is not None:
                self.values = found.values
            vain = 0 if better else vain + 1
            around.learn(better, found.closed(LEAST_GAIN_CENTS))
        return self.values is not first


def giving_week(
    elastic: Elastic, columns: Columns, until: float, dear: frozenset[int] = frozenset()
) -> GivingWeek | None:
    """A week in which only these columns may give; None if none was found in time.

    `dear`: parts that others are to spare, as far as that is possible.
    """
    model, prices = _priced(elastic, columns, dear)
    for care in CARES:
        if elastic.over(until):
            return None
        values = _week(elastic, model, care, until)
        if values is not None:
            return GivingWeek(elastic, model, model.lp, prices, values)
    return None


def _priced(
    elastic: Elastic, columns: Columns, dear: frozenset[int]
) -> tuple[Model, dict[int, float]]:
    """The week with prices on rules that give, and the prices of the columns that may.

    `dear`: parts of which giving is charged more, though not in the prices returned.
    """
    week = elastic.original
    giving = elastic.parts_of(columns)
    charge = {part: CENTS_PER_PCT * (DEARER if part in dear else 1.0) for part in giving}
    hard = [
        part.rule.model_copy(update={"price_cents": 100 * charge[number] * part.rule.share(week)})
        if number in giving
        else part.rule
        for number, part in enumerate(elastic.parts)
    ]
    soft = [rule for rule in week.rules if rule.price_cents is not None]
    model = Model(replace(week, rules=(*hard, *soft)))
    names = {elastic.lp.names[column] for column in columns}
    ours = {f"r{number}_{elastic.parts[number].rule.kind}": number for number in giving}
    prices = {}
    for column, cents in model.breach_cents:
        name = model.lp.names[column]
        part = ours.get(name.split("__", 1)[0])
        if part is None:
            continue
        if name in names:
            prices[column] = cents * CENTS_PER_PCT / charge[part]
        else:
            model.lp.high[column] = 0.0
    model.lp.rule_out()
    return model, prices


def _week(elastic: Elastic, model: Model, care: Care, until: float) -> Values | None:
    def left() -> float:
        return max(0.0, until - time.monotonic())

    def limits(nodes: int | None, gap: float) -> Limits:
        return Limits(left(), nodes, gap=gap, solutions=None if nodes is None else 1)

    stop: Callable[[], bool] = elastic.stop.is_set
    menu = day_by_day(model, 0, care, limits, lambda: elastic.over(until))
    if menu is None or elastic.over(until):
        return None
    packs = Solver(model.lp, presolve=True)
    packs.restrict({j: (float(round(menu[j])),) * 2 for j in model.run_column.values()})
    solved = packs.solve(Limits(left(), care.packs_nodes, gap=care.packs_gap), stop=stop)
    if solved.values is not None:
        return solved.values
    return week_of_menu(model, menu, 0, left, stop)


def as_start(elastic: Elastic, mend: Mend) -> Values:
    """The same week in the columns of the elastic model, as far as they are the same."""
    if mend.model is elastic.model:
        return mend.values
    at = {name: value for name, value in zip(mend.model.lp.names, mend.values, strict=True)}
    return [at.get(name, 0.0) for name in elastic.lp.names]
