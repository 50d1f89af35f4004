"""The week as a mixed-integer model.

Columns
    run__<dish>__<cook day>_<first>_<last>__<portions>   1: this run takes place
    extra__<dish>__<day>     1: a cook of component portions only
    steps__<dish>__<day>     whole steps of component portions cooked
    packs__<offer>__<day>    whole packs of a fresh or whole thing delivered
    grams__<offer>__<day>    grams of a dry thing delivered, charged by use
    order__<supplier>__<day> 1: the supplier's van comes
    cut__<item>__<day>       whole pieces cut or opened
Always true: slots filled, a dish at most once a day, stock and lives
(`stock_rows`). House rules come through the `Rows` protocol of `rules.base`.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from optimiser.cafe import Ingredient, Lot
from optimiser.costs import Costs
from optimiser.cover_rows import Need
from optimiser.ledger import Ledger
from optimiser.lp import Lp, Terms
from optimiser.objective import add_objective
from optimiser.on_hand import on_hand_g, unfinished_g
from optimiser.purchase_rows import Purchases
from optimiser.rules.base import Rule, Sum
from optimiser.runs import Run, Sizes, cook_runs, uses_per_portion
from optimiser.stock_rows import add_stock
from optimiser.stretch_rows import Stretches
from optimiser.week import Week, hold_days, left_pct


class Model:
    """All columns and rows of one week. Implements `rules.base.Rows`."""

    def __init__(self, week: Week, also: Sizes | None = None) -> None:
        """`also`: portions that must be among the runs (see `cook_runs`)."""
        self.week, self.cafe, self.lp = week, week.cafe, Lp()
        self.costs = Costs(week.cafe, week.planned_on)
        self.runs: tuple[Run, ...] = cook_runs(week, also)
        self.cuts: dict[tuple[str, str, date], int] = {}
        self._lumps: dict[str, list[int]] = {}
        self.pooled: dict[str, tuple[tuple[Lot, ...], Terms]] = {}
        self.breach_cents: Terms = []
        self.asked: dict[str, Terms] = {}
        self.run_column = {run.index: self.lp.column(run.name, 0, 1, True) for run in self.runs}
        self.dish_of_column = {self.run_column[run.index]: run.dish for run in self.runs}
        self._shown: dict[tuple[str, date], Terms] = {}
        self._cooked: dict[tuple[str, date], list[Run]] = {}
        self._index_runs()
        self.components = sorted(
            {line.item for dish in self.cafe.dishes.values() for line in dish.lines}
            & set(self.cafe.dishes)
        )
        self.extra: dict[tuple[str, date], int] = {}
        self.steps: dict[tuple[str, date], int] = {}
        self._add_component_cooks()
        self.stocked_g = self._stocked_g()
        self.needs: dict[str, dict[Need, Terms]] = {item: {} for item in self.stocked_g}
        self._collect_needs()
        self.stretches = Stretches(self)
        self.purchases = Purchases(self)
        self._fill_slots()
        self.ledger: Ledger = add_stock(self)
        for number, rule in enumerate(week.rules):
            self._prefix = f"r{number}_{rule.kind}"
            rule.add_to(self)
        add_objective(self)
        self.lp.rule_out()

    # -- building ---------------------------------------------------------

    def _index_runs(self) -> None:
        for run in self.runs:
            column = self.run_column[run.index]
            self._cooked.setdefault((run.dish, run.cook_day), []).append(run)
            for day in run.shown:
                self._shown.setdefault((run.dish, day), []).append((column, 1.0))

    def _fill_slots(self) -> None:
        """Σ shown of a course = its slots; Σ shown of a dish <= 1; one cook a dish and day."""
        for day in self.week.open_dates:
            for name, course in self.cafe.courses.items():
                terms = [
                    term
                    for dish in self.cafe.dishes.values()
                    if dish.course == name
                    for term in self.shown(dish.id, day)
                ]
                self.lp.row(f"slots__{name}__{day:%m%d}", terms, course.slots, course.slots)
        for (dish_id, day), terms in self._shown.items():
            self.lp.row(f"once__{dish_id}__{day:%m%d}", terms, high=1.0)
        for (dish_id, day), runs in self._cooked.items():
            if dish_id not in self.components:
                terms = self.run_terms((run, 1.0) for run in runs)
                self.lp.row(f"one_cook__{dish_id}__{day:%m%d}", terms, high=1.0)

    def _add_component_cooks(self) -> None:
        """Extra steps of a part, alone (at least its smallest cook) or on top of a sale."""
        for dish_id in self.components:
            dish = self.cafe.dishes[dish_id]
            most = dish.max_portions // dish.step_portions
            for day in self.week.open_dates:
                tag = f"{dish_id}__{day:%m%d}"
                extra = self.lp.column(f"extra__{tag}", 0, 1, True)
                steps = self.lp.column(f"steps__{tag}", 0, most, True)
                self.extra[dish_id, day], self.steps[dish_id, day] = extra, steps
                runs = self._cooked.get((dish_id, day), [])
                sale = self.run_terms((run, 1.0) for run in runs)
                sold = self.run_terms((run, float(run.portions)) for run in runs)
                portions: Terms = [(steps, float(dish.step_portions))]
                self.lp.row(f"one_cook__{tag}", [(extra, 1.0), *sale], high=1.0)
                self.lp.row(f"least__{tag}", [*portions, (extra, -dish.min_portions)], low=0.0)
                self.lp.row(f"some__{tag}", [(steps, 1.0), (extra, -1.0)], low=0.0)
                on = [(column, -float(most)) for column, _ in [(extra, 1.0), *sale]]
                self.lp.row(f"only_if__{tag}", [(steps, 1.0), *on], high=0.0)
                self.lp.row(f"most__{tag}", [*portions, *sold], high=float(dish.max_portions))

    def _stocked_g(self) -> dict[str, float]:
        """Grams of ingredients that rules want to be there after the week."""
        most: dict[str, float] = {}
        for rule in self.week.rules:
            for item, grams in rule.stocks(self.cafe).items():
                most[item] = max(grams, most.get(item, 0.0))
        return most

    def _collect_needs(self) -> None:
        for run in self.runs:
            column = self.run_column[run.index]
            until = self.good_until(run)
            for item, grams in run.uses_g.items():
                need = self.need(run.dish, item, run.cook_day, until)
                self.needs.setdefault(item, {}).setdefault(need, []).append((column, grams))
        for (dish_id, day), steps in self.steps.items():
            dish = self.cafe.dishes[dish_id]
            until = day + timedelta(days=hold_days(self.cafe, dish_id) - 1)
            for item, grams in uses_per_portion(dish, self.cafe).items():
                need = self.need(dish_id, item, day, until)
                term = (steps, grams * dish.step_portions)
                self.needs.setdefault(item, {}).setdefault(need, []).append(term)

    def good_until(self, run: Run) -> date:
        """The day until which a run's food must be good: a part's whole life."""
        if run.dish in self.components:
            return run.cook_day + timedelta(days=hold_days(self.cafe, run.dish) - 1)
        return run.shown[-1]

    def need(self, dish_id: str, item: str, cook_day: date, until: date) -> Need:
        """Cooked parts stay good as long as the dish is shown; so do all parts of raw dishes."""
        carries = item in self.cafe.dishes or self.cafe.dishes[dish_id].is_raw
        return (cook_day, until if carries else cook_day)

    # -- what stock_rows and objective ask --------------------------------

    def bought_g(self, item: str) -> dict[date, Terms]:
        """Grams of an ingredient delivered by day."""
        return self.purchases.grams.get(item, {})

    def bought_pieces(self, item: str) -> dict[date, Terms]:
        """Pieces of a whole ingredient delivered by day."""
        return self.purchases.pieces.get(item, {})

    def left_cents_per_g(self, ingredient: Ingredient) -> float:
        """What a gram still good after the week counts for."""
        cost = self.costs.left_per_g(ingredient.id, self.week.last)
        return cost * left_pct(self.cafe, ingredient) / 100

    def bin_cents_per_g(self, item: str) -> float:
        """What binning a gram is charged."""
        money = self.cafe.money
        cost = self.costs.per_g(item) * money.waste_cost_pct / 100
        return cost + money.disposal_cents_per_kg / 1000

    def cooks_of(self, dish: str, day: date) -> Terms:
        """1 if the dish is cooked that day, for sale or as a part."""
        runs = self._cooked.get((dish, day), [])
        sale = self.run_terms((run, 1.0) for run in runs)
        part = [(self.extra[dish, day], 1.0)] if (dish, day) in self.extra else []
        return sale + part

    def lumps_of(self) -> dict[str, list[int]]:
        """Columns of whole packs and pieces, by ingredient."""
        if not self._lumps:
            for delivery in self.purchases.deliveries:
                if not delivery.by_gram:
                    item = delivery.offer.ingredient
                    self._lumps.setdefault(item, []).append(delivery.column)
            for (item, _, _), column in self.cuts.items():
                self._lumps.setdefault(item, []).append(column)
        return self._lumps

    def lumps(self) -> list[int]:
        """Columns of whole packs and pieces, relaxed to find a first menu."""
        return [column for columns in self.lumps_of().values() for column in columns]

    # -- the Rows protocol ------------------------------------------------

    def run_terms(self, runs: Iterable[tuple[Run, float]]) -> Terms:
        """Σ coefficient × run."""
        return [(self.run_column[run.index], coefficient) for run, coefficient in runs]

    def shown(self, dish: str, day: date) -> Terms:
        """1 if the dish is in the cabinet that day."""
        return self._shown.get((dish, day), [])

    def batches(self, dish: str, day: date, per_cook: float, per_portion: float) -> Terms:
        """per_cook × (a cook of component portions only) + per_portion × those portions."""
        if (dish, day) not in self.steps:
            return []
        step = self.cafe.dishes[dish].step_portions
        terms = [(self.extra[dish, day], per_cook), (self.steps[dish, day], per_portion * step)]
        return [term for term in terms if term[1]]

    def continuous(self, name: str, low: float, high: float | None) -> int:
        """A helper column of a rule."""
        return self.lp.column(f"{self._prefix}__{name}", low, high)

    def yes_no(self, name: str) -> int:
        """A helper column of a rule that is 0 or 1."""
        return self.lp.column(f"{self._prefix}__{name}", 0, 1, True)

    def left_g(self, item: str) -> Sum:
        """Grams of an unopened ingredient still good on the first open day after the week."""
        return self.ledger.good.get(item, ([], 0.0))

    def unfinished_g(self, item: str, day: date) -> Sum:
        """Grams of a whole ingredient opened up to `day` and not used."""
        return unfinished_g(self, item, day)

    def on_hand_g(self, item: str, day: date) -> Sum:
        """Grams of an item that came up to `day` and were not used."""
        return on_hand_g(self, item, day)

    def stretched(self, dish: str, item: str, day: date) -> tuple[Terms, Terms]:
        """Grams more and grams less of flexible lines in the dish's cook that day."""
        key = (dish, item, day)
        return self.stretches.up.get(key, []), self.stretches.down.get(key, [])

    def used_from_stock(self, lot: str) -> Terms:
        """Grams taken from a lot; lots that outlive the week share what is used of them."""
        if lot not in self.asked and lot in self.pooled:
            self._share_pool(lot)
        return self.asked.setdefault(lot, self.ledger.drawn.get(lot, []))

    def _share_pool(self, lot: str) -> None:
        """Any use of a pooled item may come from any of its lots, up to the lot's size."""
        lots, total = self.pooled[lot]
        columns: Terms = []
        for one in lots:
            column = self.lp.column(f"used__{one.id}", 0, one.grams)
            self.asked[one.id] = [(column, 1.0)]
            columns.append((column, 1.0))
        self.lp.row(f"used__{lot}", columns + [(j, -c) for j, c in total], high=0.0)

    def spend(
        self, day: date | None = None, supplier: str | None = None, fresh_only: bool = False
    ) -> Terms:
        """Cents of purchases, dry goods by the gram used or left aside."""
        return self.purchases.spend(day, supplier, fresh_only)

    def at_most(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        """terms <= bound, or priced per unit over."""
        self.lp.row(f"{self._prefix}__{key}", terms + self._breach(rule, key), high=bound)

    def at_least(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        """terms >= bound, or priced per unit short."""
        over = [(column, -c) for column, c in self._breach(rule, key)]
        self.lp.row(f"{self._prefix}__{key}", terms + over, low=bound)

    def define(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        """terms <= bound, whatever the rule's price: it defines a helper column."""
        self.lp.row(f"{self._prefix}__define__{key}", terms, high=bound)

    def _breach(self, rule: Rule, key: str) -> Terms:
        if rule.price_cents is None:
            return []
        column = self.lp.column(f"{self._prefix}__breach__{key}")
        self.breach_cents.append((column, rule.price_cents))
        return [(column, -1.0)]
