"""`whatif`: other prices, stock, deliveries, guests or minutes, asked of a plan."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from optimiser.asking import Asking, Handing
from optimiser.cafe import Cafe, Form
from optimiser.change_base import Change
from optimiser.change_stock import ExtraLot
from optimiser.changes import apply_all, parse_stock
from optimiser.formats import use_locale
from optimiser.name_find import find_ingredient
from optimiser.places import read_place
from optimiser.plan_changes import Asked, read_changes, with_ids
from optimiser.plan_command import BadInput
from optimiser.week import Week

if TYPE_CHECKING:
    from optimiser.answer import Answer
    from optimiser.ask_run import Question
    from optimiser.base_plan import Base
    from optimiser.progress import Report

MOST_UNITS = 12
"""Points of a curve of what more is worth."""

T = TypeVar("T")


@dataclass(frozen=True)
class WhatIf:
    """What was asked, as text. `worth`: lots; `cooks`: how many may change."""

    asking: Asking
    changes: tuple[Asked, ...] = ()
    cooks: int = 2
    breakpoints: tuple[str, ...] = ()
    exposure: bool = False
    worth: tuple[str, ...] = ()


@dataclass(frozen=True)
class Surplus:
    """A lot whose worth is asked for, in `units` units of `grams_each`; `unit`: what one is."""

    lot: ExtraLot
    grams_each: float
    units: int
    unit: str


@dataclass(frozen=True)
class Read:
    """What was asked, read against the tables. `ingredients`: whose prices are asked about."""

    changes: tuple[Change, ...]
    ingredients: tuple[str, ...]
    surplus: tuple[Surplus, ...]


def whatif_command(asked: WhatIf, handing: Handing) -> int:
    """Answer as asked; the exit code. Raises TableFaults, StoreFault, BadInput,
    KeyboardInterrupt."""
    if not (asked.changes or asked.breakpoints or asked.exposure or asked.worth):
        raise BadInput(
            "whatif: nothing is asked; give a change (as --price butternut=+30%), "
            "--breakpoints INGREDIENT, --worth LOT or --exposure"
        )
    held = read_place(asked.asking.folder)
    use_locale(held.reading.cafe.locale)
    from optimiser.asked_of import answered, asked_week, handed_in  # loads the solver

    earlier = handed_in(asked.asking)
    week = asked_week(asked.asking, held, earlier)
    read = _read(asked, week)
    handing.refuse()
    ask = partial(_questions, asked, read)
    return answered("whatif", asked.asking, held, week, earlier, ask, handing)


# -- what was typed -------------------------------------------------------


def _read(asked: WhatIf, week: Week) -> Read:
    """Everything that was asked. Raises BadInput with every fault."""
    faults: list[str] = []

    def tried(option: str, read: Callable[[], T]) -> list[T]:
        try:
            return [read()]
        except ValueError as error:
            faults.append(f"{option}{error}")
            return []

    changed = tried("", lambda: read_changes(week, asked.changes))
    ingredients = [
        item
        for text in asked.breakpoints
        for item in tried("--breakpoints ", partial(_bought, week.cafe, text))
    ]
    surplus = [
        lot for text in asked.worth for lot in tried("--worth ", partial(read_surplus, week, text))
    ]
    if faults:
        raise BadInput("\n".join(faults))
    return Read(changed[0].changes, tuple(ingredients), tuple(surplus))


def _bought(cafe: Cafe, text: str) -> str:
    """An ingredient that has a price. Raises ValueError."""
    item = find_ingredient(cafe, text)
    if not cafe.offers_of.get(item):
        raise ValueError(f"{text}: no supplier offers it, so it has no price; see offers.csv")
    return item


def read_surplus(week: Week, text: str) -> Surplus:
    """A lot as `--stock` takes it, cut into units: pieces, portions or kilos, a dozen at most.

    Raises ValueError.
    """
    lot = parse_stock(with_ids(Asked("stock", text), week.cafe), week)
    if not isinstance(lot, ExtraLot):
        raise ValueError(
            f"{text!r}: a lot more is meant; write it as pumpkin=12kg,use-by 2026-12-03"
        )
    if lot.state is not None:
        raise ValueError(
            f"{text!r}: what more is worth is known for whole things; leave {lot.state.value} out"
        )
    grams = lot.apply(week).cafe.stock[-1].grams
    return Surplus(lot, *_units(week.cafe, lot.item, grams))


def _units(cafe: Cafe, item: str, grams: float) -> tuple[float, int, str]:
    """Grams of a unit, how many, and what one is called."""
    ingredient = cafe.ingredients.get(item)
    whole = ingredient is not None and ingredient.form is Form.WHOLE
    piece_g = ingredient.piece_g if ingredient is not None and whole else None
    if ingredient is None:
        piece_g = cafe.dishes[item].portion_g
    if piece_g:
        pieces = round(grams / piece_g)
        each = math.ceil(pieces / MOST_UNITS)
        name = "piece" if whole else "portion"
        return each * piece_g, pieces // each, name if each == 1 else f"{each} {name}s"
    units = min(MOST_UNITS, max(1, math.ceil(grams / 1000)))
    return grams / units, units, f"{grams / units / 1000:.3g} kg"


# -- questions ------------------------------------------------------------


def _questions(asked: WhatIf, read: Read, base: Base, stop: threading.Event) -> list[Question]:
    """Each with the plan that was found."""
    from optimiser.ask_run import Question

    questions = []
    if read.changes:
        ask = partial(_changed, asked, read.changes, base, stop)
        questions.append(Question("What if", ask))
    for item in read.ingredients:
        name = base.week.cafe.name_of(item)
        questions.append(Question(f"Price of {name}", partial(_prices, item, base, stop)))
    for lot in read.surplus:
        name = base.week.cafe.name_of(lot.lot.item)
        questions.append(Question(f"Worth of more {name}", partial(_worth, lot, base, stop)))
    if asked.exposure:
        questions.append(Question("What the week depends on", partial(_exposed, base, stop)))
    return questions


def _changed(
    asked: WhatIf, changes: tuple[Change, ...], base: Base, stop: threading.Event, report: Report
) -> Answer:
    """The comparison; if nothing mends the week, why its rules cannot hold."""
    from optimiser.answer_change import change_answer, with_conflict
    from optimiser.explain import conflict
    from optimiser.what_if import compare

    seconds = asked.asking.seconds
    found = compare(base.week, base.plan, changes, asked.cooks, seconds, report, stop, base.near)
    answer = change_answer(found, base.plan, base.week.cafe, stop.is_set())
    if found.best is not None or stop.is_set():
        return answer
    impossible = apply_all(base.week, changes)
    return with_conflict(answer, conflict(impossible, seconds, report, stop))


def _prices(item: str, base: Base, stop: threading.Event, report: Report) -> Answer:
    from optimiser.answer_prices import breakpoints_answer
    from optimiser.price_lines import breakpoints

    found = breakpoints(base.week, base.plan, item, report=report, stop=stop, near=base.near)
    return breakpoints_answer(found, base.plan.currency)


def _worth(lot: Surplus, base: Base, stop: threading.Event, report: Report) -> Answer:
    from optimiser.answer_prices import worth_answer
    from optimiser.surplus import surplus_worth

    item, use_by = lot.lot.item, lot.lot.use_by
    found = surplus_worth(
        base.week, base.plan, item, lot.grams_each, lot.units, use_by, report, stop, base.near
    )
    return worth_answer(found, lot.unit, lot.units, base.plan.currency)


def _exposed(base: Base, stop: threading.Event, report: Report) -> Answer:
    from optimiser.answer_prices import exposure_answer
    from optimiser.exposure import exposures

    found = exposures(base.week, base.plan, report, stop, base.near)
    return exposure_answer(found, base.plan.currency, complete=not stop.is_set())
