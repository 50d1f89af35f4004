"""The week with rules that give: which hard rules hold together, and what giving costs.

Every hard rule is copied with a price, so that each of its rows gets a column for
its breach (`Give`); every place in the cabinet may stay empty. Fixing such columns
at 0 makes their rows firm. What giving costs is counted in percent of a rule:
`Rule.share` says which part of a rule one unit of breach is.

Whole packs and pieces are first taken in fractions: if even that cannot hold, the
week cannot; if it can, its menu is tried with whole packs before all menus are.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from functools import cached_property

from optimiser.deadlines import part_of
from optimiser.giving import CENTS_PER_PCT, Columns, Fractions, Give, Mend
from optimiser.lp import Lp
from optimiser.model import Model
from optimiser.rule_parts import hard_parts
from optimiser.solver import Limits, Solved, Solver, Values
from optimiser.week import Week

SLOTS = -1
"""The part number of places in the cabinet, which are no rule."""

EMPTY_PLACE_PCT = 1000.0
"""An empty place costs more than any rule: it is offered only where no week exists."""

TINY = 1e-5
GAP_PCT = 0.01
LEAST_SECONDS = 0.05
MENU_SHARE = 0.6
"""Fraction of the time of `cheapest` for choosing a menu before its packs."""


class Elastic:
    """A week's model whose rules may give, with memory of what was found out."""

    def __init__(self, week: Week, stop: threading.Event | None = None) -> None:
        self.original = week
        self.stop = stop or threading.Event()
        self.parts = hard_parts(week.rules)
        priced = tuple(
            part.rule.model_copy(update={"price_cents": 100 * part.rule.share(week)})
            for part in self.parts
        )
        self.week = replace(week, rules=priced)
        self.model = Model(self.week)
        self.gives: dict[int, Give] = {}
        for column, _ in self.model.breach_cents:
            self.gives[column] = self._give(column)
        self._let_places_stay_empty()
        self.rule_columns = frozenset(c for c, g in self.gives.items() if g.part != SLOTS)
        self.places = frozenset(self.gives) - self.rule_columns
        self.lp = replace(self.model.lp, gain=self._gains(), constant=0.0)
        self._shut_by = self._what_firm_rows_shut()
        self._shuttable = {
            j: math.inf if (high := self.model.lp.high[j]) is None else high
            for j in sorted(set().union(*self._shut_by.values()))
        }
        self._broken: list[Columns] = []
        self._impossible: list[Columns] = []
        self._in_fractions: dict[Columns, Fractions] = {}

    def _give(self, column: int) -> Give:
        """Read `r<part>_<kind>__breach__<item>__<day>`."""
        head, key = self.model.lp.names[column].split("__breach__", 1)
        part = int(head[1:].split("_", 1)[0])
        item, _, last = key.rpartition("__")
        try:
            day = datetime.strptime(last, "%Y%m%d").date()
        except ValueError:
            day = None
        if day is None or day not in self.week.open_dates:  # `last` is part of an id
            return Give(column, part, item or last, None)
        return Give(column, part, item, day)

    def _let_places_stay_empty(self) -> None:
        lp = self.model.lp
        rows = {row.name: row for row in lp.rows}
        for day in self.week.open_dates:
            for name, course in self.week.cafe.courses.items():
                row = rows.get(f"slots__{name}__{day:%m%d}")
                if row is None:
                    continue
                column = lp.column(f"empty__{name}__{day:%m%d}", 0, course.slots)
                row.terms[column] = 1.0
                self.gives[column] = Give(column, SLOTS, name, day, course.slots)

    def _gains(self) -> list[float]:
        gain = [0.0] * len(self.model.lp.names)
        for column, pct in self.model.breach_cents:
            gain[column] -= pct
        for column in self.places:
            gain[column] -= EMPTY_PLACE_PCT
        return gain

    def _what_firm_rows_shut(self) -> dict[int, list[int]]:
        """By column of breach: the runs too large for its row, once that is firm. Otherwise
        a relaxation would take half of such a run (`Lp.rule_out`)."""
        lp, shut = self.model.lp, {}
        for row in lp.rows:
            for column in self.gives.keys() & row.terms.keys():
                if columns := lp.too_large(row, without=column):
                    shut[column] = columns
        return shut

    # -- the three models solved ------------------------------------------

    @cached_property
    def _any(self) -> Solver:
        """Any week at all, packs in fractions."""
        indifferent: Lp = replace(self.lp, gain=[0.0] * len(self.lp.names))
        return Solver(indifferent, relax=self.model.lumps())

    @cached_property
    def _relaxed(self) -> Solver:
        """The week that gives least, packs in fractions."""
        return Solver(self.lp, relax=self.model.lumps())

    @cached_property
    def _whole(self) -> Solver:
        """The week that gives least."""
        return Solver(self.lp)

    @cached_property
    def _fractions(self) -> Solver:
        """The week that gives least when even cooks may be done in fractions."""
        return Solver(self.lp, relax=[j for j, whole in enumerate(self.lp.integer) if whole])

    # -- questions --------------------------------------------------------

    def holds(self, firm: Columns, until: float) -> bool | None:
        """Whether a week keeps these rows; None if that is not known by `until`."""
        known = self.known(firm)
        if known is not None:
            return known
        first = self._solve(self._any, firm, until)
        if first is None or first.infeasible:
            return self._rule_out(firm) if first else None
        if first.values is None:
            return None
        if self._with_menu(first.values, firm, until):
            return True
        second = self._solve(self._whole, firm, until, gap_pct=math.inf)
        if second is None or (second.values is None and not second.infeasible):
            return None
        if second.infeasible:
            return self._rule_out(firm)
        self.remember(self.broken(second.values or []))
        return True

    def known(self, firm: Columns) -> bool | None:
        """What was found out before about whether a week keeps these rows."""
        if any(broken.isdisjoint(firm) for broken in self._broken):
            return True
        return False if self.impossible(firm) else None

    def cheapest(self, firm: Columns, until: float, start: Values | None = None) -> Mend | None:
        """The week that keeps these rows and gives least elsewhere; None if none was found.

        Most of the time goes to the week with packs in fractions; if that finds none, any
        week that keeps the rows is taken, whatever gives elsewhere.
        """
        if self.impossible(firm):
            return None
        first = self._solve(self._relaxed, firm, part_of(until, MENU_SHARE), start=start)
        if first is None:
            return None
        if first.infeasible:
            self._rule_out(firm)
            return None
        menu = first if first.values is not None else self._solve(self._any, firm, until)
        if menu is None or menu.values is None:
            return None
        best = self._with_menu(menu.values, firm, until)
        if best is not None and best.margin is not None:
            if best.margin >= first.bound - 2 * GAP_PCT:
                return self._mend(best, True)
            if first.margin is None or first.margin < first.bound - 2 * GAP_PCT:
                return self._mend(best, False)  # packs are not what keeps it from being best
        last = self._solve(self._whole, firm, until, start=best.values if best else None)
        if last is not None and last.margin is not None:
            return self._mend(last, last.bound - last.margin <= 2 * GAP_PCT)
        return self._mend(best, False) if best is not None else None

    def in_fractions(self, firm: Columns, until: float) -> Fractions | None:
        """What gives when everything may be done in fractions; None if that is not known or,
        as `impossible` then knows, these rows cannot hold even so."""
        if self.impossible(firm):
            return None
        if firm not in self._in_fractions:
            solved = self._solve(self._fractions, firm, until)
            if solved is None or solved.values is None or solved.margin is None:
                if solved is not None and solved.infeasible:
                    self._rule_out(firm)
                return None
            self._in_fractions[firm] = Fractions(-solved.margin, self.broken(solved.values))
        return self._in_fractions[firm]

    def of_parts(self, parts: Iterable[int]) -> Columns:
        """The columns of breach of these parts."""
        wanted = set(parts)
        return frozenset(c for c, give in self.gives.items() if give.part in wanted)

    def parts_of(self, columns: Iterable[int]) -> frozenset[int]:
        """The parts that these columns of breach belong to."""
        return frozenset(self.gives[column].part for column in columns)

    def tightest(self, until: float, giving: Columns = frozenset()) -> list[int]:
        """Parts of rules by what giving a percent of each would earn in a week done in
        fractions that keeps them all, most first; empty if there is none, or not known.

        `giving`: columns that may be above 0 in that week, as little as is possible: then what
        would spare them comes first.
        """
        earning = [0.0 if j in self.gives else g for j, g in enumerate(self.model.lp.gain)]
        for column, pct in self.model.breach_cents:
            earning[column] = -CENTS_PER_PCT * pct if column in giving else 0.0
        whole = [j for j, integer in enumerate(self.lp.integer) if integer]
        solver = Solver(replace(self.lp, gain=earning), relax=whole, presolve=True)
        solved = self._solve(solver, frozenset(self.gives) - giving, until)
        if solved is None or solved.values is None:
            return []
        costs, worth = solver.reduced_costs(), dict.fromkeys(range(len(self.parts)), 0.0)
        for column, pct in self.model.breach_cents:
            part = self.gives[column].part
            worth[part] = max(worth[part], costs[column] / pct)
        for part in self.parts_of(giving):
            worth.pop(part, None)
        return sorted((part for part in worth if worth[part] > 0), key=lambda p: (-worth[p], p))

    def remember(self, broken: Columns) -> None:
        """A week was found in which these give."""
        self._broken.append(broken)

    def over(self, until: float) -> bool:
        """Whether time is up, or it was asked to stop."""
        return self.stop.is_set() or until - time.monotonic() < LEAST_SECONDS

    def impossible(self, firm: Columns) -> bool:
        """Whether these rows are known not to hold together."""
        return any(known <= firm for known in self._impossible)

    def broken(self, values: Values) -> Columns:
        """The columns of breach above zero."""
        return frozenset(column for column in self.gives if values[column] > TINY)

    # -- solving ----------------------------------------------------------

    def _solve(
        self,
        solver: Solver,
        firm: Columns,
        until: float,
        gap_pct: float = GAP_PCT,
        start: Values | None = None,
        menu: Values | None = None,
    ) -> Solved | None:
        """`menu`: the cooks for sale are those of these values."""
        if self.over(until):
            return None
        bounds = {c: (0.0, 0.0 if c in firm else give.high) for c, give in self.gives.items()}
        shut = set().union(*(self._shut_by[c] for c in firm & self._shut_by.keys()))
        bounds |= {j: (0.0, 0.0 if j in shut else high) for j, high in self._shuttable.items()}
        if menu is not None:
            bounds |= {j: (float(round(menu[j])),) * 2 for j in self.model.run_column.values()}
        solver.restrict(bounds)
        left = until - time.monotonic()
        return solver.solve(Limits(left, gap_cents=gap_pct), start=start, stop=self.stop.is_set)

    def _with_menu(self, menu: Values, firm: Columns, until: float) -> Solved | None:
        """The same cooks for sale with whole packs, giving least; None if that fails."""
        solved = self._solve(self._whole, firm, until, menu=menu)
        runs = self.model.run_column.values()
        self._whole.restrict({j: (0.0, self.lp.high[j] or 0.0) for j in runs})
        if solved is None or solved.values is None:
            return None
        self.remember(self.broken(solved.values))
        return solved

    def _mend(self, solved: Solved, least: bool) -> Mend:
        values = solved.values or []
        broken = self.broken(values)
        self.remember(broken)
        pct_of = {column: -self.lp.gain[column] * values[column] for column in broken}
        return Mend(values, pct_of, least, self.model)

    def _rule_out(self, firm: Columns) -> bool:
        self._impossible.append(firm)
        return False
