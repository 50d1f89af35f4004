"""Stock, deliveries, opened pieces and cooked parts: what is always true of them.

Each item gets one `Cover` (see cover_rows) in the form that fits it:

dry     bought by the gram: whole packs are rounded up after the choice of menu,
        and what is left of a pack keeps its value
loose   bought in whole packs, each delivery living keeps_days
whole   bought in whole packs of pieces; a piece is cut or opened on a day and
        then lives opened_keeps_days, or to its own use-by if that is sooner
cooked  a part cooked on a day in steps, living as long as its shortest-lived part

`value` collects what is left and binned, as terms of the objective.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from optimiser.cafe import Form, Ingredient, Lot
from optimiser.cover_rows import Cover, Need, Source
from optimiser.ledger import Ledger, far_day, left_need
from optimiser.lp import Terms, scaled
from optimiser.week import delivered_use_by, hold_days, is_dry, last_day
from optimiser.whole_rows import add_whole

if TYPE_CHECKING:
    from optimiser.model import Model

FOREVER_DAYS = 90_000
SHELF_PCT = 0.1
"""Of their cost, what dry goods for the shelf are charged: nothing in the books, but then more
than a rule asks for could be bought for nothing."""


def add_stock(model: Model) -> Ledger:
    """Write the rows of every item that is in stock or in a recipe."""
    ledger = Ledger()
    items = {lot.item for lot in model.week.usable_stock} | set(model.needs)
    for item in sorted(items):
        lots = [lot for lot in model.week.usable_stock if lot.item == item]
        needs = model.needs.get(item, {})
        ingredient = model.cafe.ingredients.get(item)
        if ingredient is None:
            _cooked(model, ledger, item, lots, needs)
        elif ingredient.form is Form.WHOLE:
            add_whole(model, ledger, ingredient, lots, needs)
        else:
            _weighed(model, ledger, ingredient, lots, needs)
    for lot in model.week.expired_stock:
        ledger.bin(model.bin_cents_per_g(lot.item), [], lot.grams)
    return ledger


def _weighed(
    model: Model,
    ledger: Ledger,
    ingredient: Ingredient,
    lots: list[Lot],
    needs: dict[Need, Terms],
) -> None:
    """Loose and dry goods: grams from lots and deliveries to the days of use."""
    item, week = ingredient.id, model.week
    bought = model.bought_g(item)
    far = far_day(model, needs)
    between = any(week.next_open <= last_day(lot.use_by) < far for lot in lots)
    lasting = not between and all(delivered_use_by(ingredient, day) >= far for day in bought)
    cover = Cover(item, FOREVER_DAYS if lasting else ingredient.keeps_days, dict(needs))
    for day, terms in bought.items():
        cover.supply(day, terms)
    kept = [lot for lot in lots if last_day(lot.use_by) >= week.next_open]
    own_life = [lot for lot in lots if not lasting or lot not in kept]
    cover.sources = [
        Source(lot.id, week.open_dates[0], last_day(lot.use_by), lot.grams) for lot in own_life
    ]
    pooled = [lot for lot in kept if lot not in own_life]
    if pooled:
        cover.supply(week.open_dates[0], [], sum(lot.grams for lot in pooled))
    keep, lose = model.left_cents_per_g(ingredient), model.bin_cents_per_g(item)
    everything = [term for terms in bought.values() for term in terms]
    fixed = sum(lot.grams for lot in lots)
    if lasting:
        cover.add_rows(model.lp)
        from_short = [term for terms in cover.drawn.values() for term in terms]
        short_g = sum(lot.grams for lot in own_life)
        ledger.bin(lose, scaled(from_short, -1.0), short_g)
        remaining = everything + scaled(cover.total_need(), -1.0) + from_short
        ledger.keep(item, keep, remaining, fixed - short_g)
        _pooled_use(model, ledger, cover, pooled)
    else:
        left = left_need(model, cover)
        cover.add_rows(model.lp)
        ledger.keep(item, keep, left)
        ledger.bin(lose, everything + scaled(cover.total_need(), -1.0), fixed)
    ledger.drawn.update(cover.drawn)
    if item in model.stocked_g and is_dry(ingredient) and everything:
        _shelve(model, ledger, ingredient, everything)


def _shelve(model: Model, ledger: Ledger, ingredient: Ingredient, bought: Terms) -> None:
    """Dry goods bought for the shelf, because a rule wants them there, keep what they cost.

    Grams s: s ≤ bought and s ≤ good after the week; stock is used before what is bought.
    """
    item = ingredient.id
    column = model.lp.column(f"shelved__{item}")
    good, good_g = ledger.good[item]
    model.lp.row(f"shelved_bought__{item}", [(column, 1.0), *scaled(bought, -1.0)], high=0.0)
    model.lp.row(f"shelved_good__{item}", [(column, 1.0), *scaled(good, -1.0)], high=good_g)
    cents = model.purchases.shelve(item, column)
    ledger.left += [(column, -model.left_cents_per_g(ingredient) - cents * SHELF_PCT / 100)]


def _pooled_use(model: Model, ledger: Ledger, cover: Cover, pooled: list[Lot]) -> None:
    """Use of lots that outlive the week: any use may come from them, up to their size.

    Only made when a rule asks, by `Model.used_from_stock`.
    """
    if not pooled:
        return
    drawn = [term for terms in cover.drawn.values() for term in terms]
    rest = cover.total_need() + scaled(drawn, -1.0)
    for lot in pooled:
        model.pooled[lot.id] = (tuple(pooled), rest)


def _cooked(
    model: Model, ledger: Ledger, item: str, lots: list[Lot], needs: dict[Need, Terms]
) -> None:
    """Cooked parts: batches of the week and cooked stock."""
    week, dish = model.week, model.cafe.dishes[item]
    cover = Cover(item, hold_days(model.cafe, item), dict(needs))
    cover.sources = [
        Source(lot.id, week.open_dates[0], last_day(lot.use_by), lot.grams) for lot in lots
    ]
    cooked: Terms = []
    for day in week.open_dates:
        batch = model.batches(item, day, 0.0, dish.portion_g)
        if batch:
            cover.supply(day, batch)
            cooked += batch
    _cook_first(model, cover)
    left_need(model, cover)
    cover.add_rows(model.lp)
    ledger.drawn.update(cover.drawn)
    ledger.bin(
        model.bin_cents_per_g(item),
        cooked + scaled(cover.total_need(), -1.0),
        sum(lot.grams for lot in lots),
    )


def _cook_first(model: Model, cover: Cover) -> None:
    """A dish whose part is not in stock needs a cook of that part within its life.

    Implied for whole cooks by the cover rows, but not for fractions of a cook, which
    would take a fraction of its minutes: these rows tighten the relaxation.
    """
    item, life = cover.item, timedelta(days=cover.life_days - 1)
    for need, terms in cover.needs.items():
        in_stock = sum(source.constant_g for source in cover.sources if source.can_serve(need))
        cooks = [
            term
            for day in model.week.open_dates
            if need[1] - life <= day <= need[0]
            for term in model.cooks_of(item, day)
        ]
        users: dict[str, Terms] = {}
        for column, grams in terms:
            if grams > in_stock and column in model.dish_of_column:
                users.setdefault(model.dish_of_column[column], []).append((column, -1.0))
        for dish, runs in users.items():
            name = f"cook_first__{item}__{dish}__{need[0]:%m%d}_{need[1]:%m%d}"
            model.lp.row(name, cooks + runs, low=0.0)
