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

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from optimiser.cafe import Form, Ingredient, Lot, State
from optimiser.cover_rows import Cover, Need, Source
from optimiser.lp import Terms, scaled
from optimiser.week import delivered_use_by, hold_days, last_day, opened_use_by

if TYPE_CHECKING:
    from optimiser.model import Model

FOREVER_DAYS = 90_000


@dataclass
class Ledger:
    """What the rows of all items add to the objective and tell the rules."""

    left: Terms = field(default_factory=list)
    left_constant: float = 0.0
    waste: Terms = field(default_factory=list)
    waste_constant: float = 0.0
    drawn: dict[str, Terms] = field(default_factory=dict)
    """Grams taken from each stock lot."""

    def keep(self, cents_per_g: float, terms: Terms, constant_g: float = 0.0) -> None:
        """Grams still good after the week."""
        self.left += scaled(terms, cents_per_g)
        self.left_constant += cents_per_g * constant_g

    def bin(self, cents_per_g: float, terms: Terms, constant_g: float = 0.0) -> None:
        """Grams thrown away."""
        self.waste += scaled(terms, cents_per_g)
        self.waste_constant += cents_per_g * constant_g


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
            _whole(model, ledger, ingredient, lots, needs)
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
    far = _far(model, needs)
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
        ledger.keep(keep, remaining, fixed - short_g)
        _pooled_use(model, ledger, cover, pooled)
    else:
        left = _left_need(model, cover)
        cover.add_rows(model.lp)
        ledger.keep(keep, left)
        ledger.bin(lose, everything + scaled(cover.total_need(), -1.0), fixed)
    ledger.drawn.update(cover.drawn)


def _far(model: Model, needs: dict[Need, Terms]) -> date:
    """What is good until this day outlives the week and every need: a raw part cooked
    late must stay good beyond the next open day."""
    return max([model.week.next_open, *(until for _, until in needs)])


def _left_need(model: Model, cover: Cover) -> Terms:
    """What is still good after the week, written as a need on the next open day."""
    after = model.week.next_open
    left = [(model.lp.column(f"left__{cover.item}"), 1.0)]
    cover.need((after, after), left)
    return left


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


def _whole(
    model: Model,
    ledger: Ledger,
    ingredient: Ingredient,
    lots: list[Lot],
    needs: dict[Need, Terms],
) -> None:
    """Whole pieces, the days they are cut, and their other halves."""
    item, week = ingredient.id, model.week
    size = ingredient.piece_g or 0.0
    cover = Cover(item, ingredient.opened_keeps_days, dict(needs))
    opened = [lot for lot in lots if lot.state is State.OPENED]
    cover.sources = [
        Source(lot.id, week.open_dates[0], last_day(lot.use_by), lot.grams) for lot in opened
    ]
    cut: Terms = []
    far = _far(model, needs)
    for lot_id, first, use_by, units_terms, units in _pieces(model, ingredient, lots, far):
        taken = _cut_from(model, cover, ingredient, (lot_id, first, use_by))
        cut += taken
        model.lp.row(f"pieces__{lot_id}__{item}", taken + scaled(units_terms, -1.0), high=units)
        ledger.drawn[lot_id] = scaled(taken, size)
        rest = scaled(units_terms, size) + scaled(taken, -size)
        if use_by >= week.next_open:
            ledger.keep(model.left_cents_per_g(ingredient), rest, units * size)
        else:
            ledger.bin(model.bin_cents_per_g(item), rest, units * size)
    cut += _cut_from_lasting(model, ledger, cover, ingredient, lots, far)
    if not needs:
        ledger.bin(model.bin_cents_per_g(item), [], 0.0)
    left = _left_need(model, cover)
    cover.add_rows(model.lp)
    ledger.drawn.update({lot.id: cover.drawn[lot.id] for lot in opened})
    ledger.bin(
        model.bin_cents_per_g(item),
        scaled(cut, size) + scaled(cover.total_need(), -1.0),
        sum(lot.grams for lot in opened),
    )
    del left


def _pieces(
    model: Model, ingredient: Ingredient, lots: list[Lot], far: date
) -> list[tuple[str, date, date, Terms, float]]:
    """Lots of whole pieces that may spoil before `far`: id, first, last day, units."""
    week = model.week
    found: list[tuple[str, date, date, Terms, float]] = []
    for lot in lots:
        if lot.state is not State.OPENED and last_day(lot.use_by) < far:
            found.append((lot.id, week.open_dates[0], last_day(lot.use_by), [], lot.units))
    for day, terms in model.bought_pieces(ingredient.id).items():
        use_by = delivered_use_by(ingredient, day)
        if use_by < far:
            found.append((f"bought_{day:%m%d}", day, use_by, terms, 0.0))
    return found


def _cut_from(
    model: Model, cover: Cover, ingredient: Ingredient, lot: tuple[str, date, date]
) -> Terms:
    """Pieces cut on each day from one short-lived lot, fed into the cover."""
    lot_id, first, use_by = lot
    size = ingredient.piece_g or 0.0
    taken: Terms = []
    for day in model.week.open_dates:
        if not first <= day <= use_by or not cover.needs:
            continue
        column = model.lp.column(f"cut__{lot_id}__{ingredient.id}__{day:%m%d}", integer=True)
        model.cuts[(ingredient.id, lot_id, day)] = column
        taken.append((column, 1.0))
        full_life = opened_use_by(ingredient, day, date.max)
        if full_life <= use_by:
            cover.supply(day, [(column, size)])
        else:
            name = f"{lot_id}_cut_{day:%m%d}"
            cover.sources.append(Source(name, day, use_by, 0.0, [(column, size)]))
    return taken


def _cut_from_lasting(
    model: Model,
    ledger: Ledger,
    cover: Cover,
    ingredient: Ingredient,
    lots: list[Lot],
    far: date,
) -> Terms:
    """Pieces cut from lots and deliveries good until `far`: one running balance."""
    item, week, size = ingredient.id, model.week, ingredient.piece_g or 0.0
    kept = [
        lot
        for lot in lots
        if lot.state is not State.OPENED and last_day(lot.use_by) >= far
    ]
    units = float(sum(lot.units for lot in kept))
    bought = {
        day: terms
        for day, terms in model.bought_pieces(item).items()
        if delivered_use_by(ingredient, day) >= far
    }
    taken: Terms = []
    arrived: Terms = []
    for day in week.open_dates:
        arrived = arrived + bought.get(day, [])
        if cover.needs and (units or arrived):
            column = model.lp.column(f"cut__{item}__{day:%m%d}", integer=True)
            model.cuts[(item, "", day)] = column
            taken.append((column, 1.0))
            cover.supply(day, [(column, size)])
            model.lp.row(
                f"pieces__{item}__{day:%m%d}", taken + scaled(arrived, -1.0), high=units
            )
    keep = model.left_cents_per_g(ingredient)
    ledger.keep(keep, scaled(arrived, size) + scaled(taken, -size), units * size)
    for lot in kept:
        model.pooled[lot.id] = (tuple(kept), scaled(taken, size))
    return taken


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
    _left_need(model, cover)
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
