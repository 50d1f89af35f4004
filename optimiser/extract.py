"""From solver values to a `Plan`: cooks, packs, opened pieces and the lots used."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, timedelta

from optimiser import demand
from optimiser.accounts import Draft, Holding, settle
from optimiser.allocate import Demand, Supply, allocate
from optimiser.cafe import Form, State
from optimiser.display_order import placed
from optimiser.model import Model
from optimiser.order_packs import CRUMB_G, orders
from optimiser.plan import Cook, Open, Plan, Shown, Stretch, Use
from optimiser.runs import Run, uses_per_portion
from optimiser.week import delivered_use_by, hold_days, last_day, opened_use_by

SMALLEST_STRETCH_G = 0.001
"""What a solver leaves of a stretch that is none."""


def extract(model: Model, values: Sequence[float]) -> Plan:
    """Read a complete solution of the model; `values` are per column."""
    draft = Draft()
    _cooks(model, values, draft)
    draft.buys = orders(model, values)
    _holdings(model, values, draft)
    _opens(model, values, draft)
    _stretches(model, values, draft)
    _uses(model, draft)
    return settle(model.week, draft)


def _cooks(model: Model, values: Sequence[float], draft: Draft) -> None:
    extra = {
        key: round(values[column]) * model.cafe.dishes[key[0]].step_portions
        for key, column in model.steps.items()
        if round(values[column]) > 0
    }
    for run in model.runs:
        if round(values[model.run_column[run.index]]) != 1:
            continue
        portions = run.portions + extra.pop((run.dish, run.cook_day), 0)
        draft.cooks.append(
            Cook(date=run.cook_day, dish=run.dish, portions=portions, shown=run.shown)
        )
        draft.shown += _showings(model, run)
    for (dish, day), portions in extra.items():
        draft.cooks.append(Cook(date=day, dish=dish, portions=portions))
    order = {name: n for n, name in enumerate([*model.cafe.courses, "component"])}
    draft.cooks.sort(key=lambda c: (c.date, order[model.cafe.dishes[c.dish].course], c.dish))
    draft.shown = placed(model.cafe, draft.shown)


def _showings(model: Model, run: Run) -> list[Shown]:
    """The run's portions shared over its days in proportion to expected guests."""
    dish = model.cafe.dishes[run.dish]
    portions = demand.shares(model.cafe, dish, run.shown, run.portions)
    return [
        Shown(
            date=day, course=run.course, dish=run.dish, portions=share, cooked_on=run.cook_day
        )
        for day, share in zip(run.shown, portions, strict=True)
    ]


def _holdings(model: Model, values: Sequence[float], draft: Draft) -> None:
    """Everything there is to use: stock, deliveries, cooked parts."""
    week, cafe = model.week, model.cafe
    for lot in week.usable_stock:
        draft.holdings.append(
            Holding(
                lot.id, lot.item, lot.grams, week.open_dates[0], last_day(lot.use_by), lot.state,
                units=lot.units,
                due_g=sum(c * values[j] for j, c in model.asked.get(lot.id, [])),
            )
        )
    pack_g = {(o.ingredient, o.supplier, o.pack_qty, o.pack_unit): o for o in cafe.offers}
    delivered: dict[tuple[date, str, str], Holding] = {}
    for buy in draft.buys:
        offer = pack_g[buy.ingredient, buy.supplier, buy.pack_qty, buy.pack_unit]
        ingredient = cafe.ingredients[buy.ingredient]
        key = (buy.deliver_on, buy.supplier, buy.ingredient)
        if key not in delivered:
            delivered[key] = Holding(
                f"bought-{buy.deliver_on}-{buy.supplier}-{buy.ingredient}",
                buy.ingredient,
                0.0,
                buy.deliver_on,
                delivered_use_by(ingredient, buy.deliver_on),
                State.WHOLE,
            )
        holding = delivered[key]
        pieces = buy.packs * offer.pieces
        whole = ingredient.form is Form.WHOLE
        holding.grams += pieces * (ingredient.piece_g or 0) if whole else buy.packs * offer.pack_g
        holding.units += pieces
        holding.paid_cents += buy.cost_cents
        holding.bought_g = holding.grams
    draft.holdings += delivered.values()
    for cook in draft.cooks:
        sold = sum(
            row.portions
            for row in draft.shown
            if row.dish == cook.dish and row.cooked_on == cook.date
        )
        if cook.portions > sold:
            dish = cafe.dishes[cook.dish]
            last = cook.date + timedelta(days=hold_days(cafe, cook.dish) - 1)
            draft.holdings.append(
                Holding(
                    f"cooked-{cook.date}-{cook.dish}",
                    cook.dish,
                    (cook.portions - sold) * dish.portion_g,
                    cook.date,
                    last,
                    State.COOKED,
                )
            )


def _opens(model: Model, values: Sequence[float], draft: Draft) -> None:
    """Pieces cut, from the lot the model named or from the lasting ones, stock first."""
    for (item, lot_id, day), column in sorted(
        model.cuts.items(), key=lambda entry: (entry[0][0], entry[0][2], entry[0][1])
    ):
        units = round(values[column])
        while units > 0:
            holding = _piece_lot(model, draft, item, lot_id, day)
            if holding is None:
                break
            size = model.cafe.ingredients[item].piece_g or 1.0
            due = math.ceil((holding.due_g - CRUMB_G) / size)
            taken = min(units, holding.units, due if due > 0 else units)
            _open(model, draft, holding, day, taken)
            units -= taken


def _piece_lot(
    model: Model, draft: Draft, item: str, lot_id: str, day: date
) -> Holding | None:
    lots = [
        h
        for h in draft.holdings
        if h.item == item and h.state is State.WHOLE and h.units > 0 and h.first <= day <= h.last
    ]
    if lot_id.startswith("bought_"):
        lots = [h for h in lots if h.lot.startswith("bought") and f"{h.first:%m%d}" == lot_id[7:]]
    elif lot_id:
        lots = [h for h in lots if h.lot == lot_id]
    else:
        lots = [h for h in lots if h.last >= model.week.next_open]
    lots.sort(key=lambda h: (h.due_g < CRUMB_G, h.lot.startswith("bought"), h.last, h.lot))
    return lots[0] if lots else None


def _open(model: Model, draft: Draft, holding: Holding, day: date, units: int) -> None:
    ingredient = model.cafe.ingredients[holding.item]
    grams = units * (ingredient.piece_g or 0.0)
    holding.units -= units
    holding.grams -= grams
    holding.due_g -= grams
    draft.opens.append(Open(date=day, ingredient=holding.item, units=units, lot=holding.lot))
    last = opened_use_by(ingredient, day, holding.last)
    lot = f"opened-{day}-{holding.lot}"
    draft.holdings.append(Holding(lot, holding.item, grams, day, last, State.OPENED))


def _stretches(model: Model, values: Sequence[float], draft: Draft) -> None:
    """How far each cook's flexible lines are from the recipe."""
    for cook in draft.cooks:
        for item in sorted({line.item for line in model.cafe.dishes[cook.dish].lines}):
            up, down = model.stretched(cook.dish, item, cook.date)
            more_g = sum(values[j] * c for j, c in up) - sum(values[j] * c for j, c in down)
            if abs(more_g) > SMALLEST_STRETCH_G:
                row = Stretch(date=cook.date, dish=cook.dish, item=item, more_g=round(more_g, 4))
                draft.stretched.append(row)


def _uses(model: Model, draft: Draft) -> None:
    """Take every cook's grams from lots: stock before bought, first expired first."""
    more_g = {(row.dish, row.date, row.item): row.more_g for row in draft.stretched}
    demands: dict[str, list[Demand]] = {}
    for cook in draft.cooks:
        dish = model.cafe.dishes[cook.dish]
        last = cook.date + timedelta(days=hold_days(model.cafe, cook.dish) - 1)
        until = last if cook.dish in model.components or not cook.shown else cook.shown[-1]
        for item, grams in uses_per_portion(dish, model.cafe).items():
            carries = item in model.cafe.dishes or dish.is_raw
            needed_g = grams * cook.portions + more_g.get((cook.dish, cook.date, item), 0.0)
            need = Demand(cook.dish, cook.date, until if carries else cook.date, needed_g)
            demands.setdefault(item, []).append(need)
    for item in sorted({h.item for h in draft.holdings} | set(demands)):
        _use_item(model, draft, item, demands.get(item, []))
    draft.uses.sort(key=lambda u: (u.date, u.dish, u.item, u.lot))


def _use_item(model: Model, draft: Draft, item: str, demands: list[Demand]) -> None:
    lots = [h for h in draft.holdings if h.item == item and h.usable(model.cafe)]
    lots.sort(key=lambda h: (h.lot.startswith("bought"), h.last, h.lot))
    parts = [(h, min(h.due_g, h.grams), True) for h in lots if h.due_g > CRUMB_G]
    parts += [(h, h.grams - max(0.0, min(h.due_g, h.grams)), False) for h in lots]
    supplies = [Supply(h.lot, h.first, h.last, grams, due) for h, grams, due in parts]
    flow = allocate(supplies, demands, model.week.next_open)
    taken: dict[tuple[str, int], float] = {}
    for (s, d), grams in sorted(flow.items()):
        key = (parts[s][0].lot, d)
        taken[key] = taken.get(key, 0.0) + grams
    by_lot = {h.lot: h for h in lots}
    for (lot, d), exact_g in taken.items():
        grams = round(exact_g, 4)
        by_lot[lot].grams -= grams
        use = Use(date=demands[d].day, dish=demands[d].dish, item=item, grams=grams, lot=lot)
        draft.uses.append(use)
