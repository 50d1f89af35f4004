"""Whole pieces: the days they are cut or opened, and their other halves."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from optimiser.cafe import Ingredient, Lot, State
from optimiser.cover_rows import Cover, Need, Source
from optimiser.ledger import Ledger, far_day, left_need
from optimiser.lp import Terms, scaled
from optimiser.week import delivered_use_by, last_day, opened_use_by

if TYPE_CHECKING:
    from optimiser.model import Model


def add_whole(
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
    far = far_day(model, needs)
    for lot_id, first, use_by, units_terms, units in _pieces(model, ingredient, lots, far):
        taken = _cut_from(model, cover, ingredient, (lot_id, first, use_by))
        cut += taken
        model.lp.row(f"pieces__{lot_id}__{item}", taken + scaled(units_terms, -1.0), high=units)
        ledger.drawn[lot_id] = scaled(taken, size)
        rest = scaled(units_terms, size) + scaled(taken, -size)
        if use_by >= week.next_open:
            ledger.keep(item, model.left_cents_per_g(ingredient), rest, units * size)
        else:
            ledger.bin(model.bin_cents_per_g(item), rest, units * size)
    cut += _cut_from_lasting(model, ledger, cover, ingredient, lots, far)
    left_need(model, cover)
    cover.add_rows(model.lp)
    ledger.drawn.update({lot.id: cover.drawn[lot.id] for lot in opened})
    ledger.bin(
        model.bin_cents_per_g(item),
        scaled(cut, size) + scaled(cover.total_need(), -1.0),
        sum(lot.grams for lot in opened),
    )


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
    ledger.keep(item, keep, scaled(arrived, size) + scaled(taken, -size), units * size)
    for lot in kept:
        model.pooled[lot.id] = (tuple(kept), scaled(taken, size))
    return taken
