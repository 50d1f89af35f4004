"""Every board of a three-day cafe: two mains, three salads, a cooked part; 324 of them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import product
from typing import Any

from optimiser.cafe import (
    COMPONENT,
    Cafe,
    Course,
    Cover,
    Dish,
    Form,
    Kitchen,
    Line,
    Lot,
    Served,
    State,
    Supplier,
)
from optimiser.model import Model
from optimiser.runs import Run
from tests.small_cafe import ingredient, line, offer

MON, TUE, WED = (date(2026, 1, day) for day in (5, 6, 7))
DAYS = (MON, TUE, WED)
FAR = WED + timedelta(days=30)


def cafe() -> Cafe:
    """One main and one salad a day; two mains, three salads, a cooked part."""
    shelf = [
        ingredient("kale", Form.LOOSE, keeps_days=3, colour="green", protein_g=4,
                   allergens=frozenset(), months=frozenset({6}), veg_group="dark_green",
                   sodium_mg=50, fibre_g=4, fridge_l_per_kg=5.0,
                   amino_mg_per_g_protein={"lys": 60, "saa": 20}),
        ingredient("squash", Form.WHOLE, piece_g=500, keeps_days=9, opened_keeps_days=2,
                   colour="orange", protein_g=1, allergens=frozenset(), months=frozenset({1}),
                   veg_group="orange", fibre_g=2, diets_excluded=frozenset({"nut_free"}),
                   amino_mg_per_g_protein={"lys": 55, "saa": 15}),
        ingredient("rice", Form.DRY, keeps_days=365, colour="white", protein_g=8,
                   allergens=frozenset({"soy"}), sodium_mg=5, fibre_g=1,
                   amino_mg_per_g_protein={"lys": 36, "saa": 44}),
    ]  # fmt: skip
    return Cafe(
        name="Rules",
        open_days=frozenset(day.weekday() for day in DAYS),
        courses={
            "main": Course(slots=1, price_cents=1200, take_up=0.5, portion_g=100),
            "salad": Course(slots=1, price_cents=700, take_up=0.5, portion_g=100),
        },
        plate={"main": 1, "salad": 1},
        kitchen=Kitchen(hands_on_min=(120.0,) * 7, oven_min=(60.0,) * 7),
        ingredients={one.id: one for one in shelf},
        suppliers={"farm": Supplier(id="farm", name="Farm", delivers=frozenset(range(7)))},
        offers=(
            offer("kale", "farm", 200, pack_g=400.0, pack_qty=400, pack_unit="g"),
            offer("squash", "farm", 150, pack_g=500.0, pack_unit="each", pieces=1),
            offer("rice", "farm", 300),
        ),
        dishes={dish.id: dish for dish in _dishes()},
        stock=(
            Lot(id="stock-1", item="kale", state=State.WHOLE, qty=300, unit="g", grams=300,
                use_by=TUE),
            Lot(id="stock-2", item="squash", state=State.WHOLE, qty=1, unit="each", grams=500,
                units=1, use_by=TUE),
            Lot(id="stock-3", item="rice", state=State.WHOLE, qty=400, unit="g", grams=400),
            Lot(id="stock-4", item="pot", state=State.COOKED, qty=250, unit="g", grams=250,
                use_by=MON),
            Lot(id="stock-5", item="squash", state=State.WHOLE, qty=1, unit="each", grams=500,
                units=1, use_by=FAR),
        ),
        covers={day: Cover(expected=8, low=8, high=8) for day in DAYS},
        history=(Served(day=date(2026, 1, 3), dish="kale_salad", cooked=4, sold=4),),
    )  # fmt: skip


def _dishes() -> list[Dish]:
    common: dict[str, Any] = {
        "portions": 2, "portion_g": 100, "step_portions": 2, "max_portions": 8,
        "hands_on_min": 15, "hands_on_min_per_10": 30,
    }  # fmt: skip
    return [
        Dish(id="stew", name="Stew", course="main", hold_days=2, cuisine="plains",
             method="boiled", texture="soft", lines=(line("pot", 150),), **common),
        Dish(id="bake", name="Bake", course="main", oven_min=45, oven_c=180, cuisine="hills",
             method="roasted", texture="soft", lines=(flexible("squash", 200),), **common),
        Dish(id="kale_salad", name="Kale salad", course="salad", cuisine="coast",
             method="steamed", texture="crunchy", lines=(flexible("kale", 150),), **common),
        Dish(id="rice_salad", name="Rice salad", course="salad", cuisine="plains",
             method="boiled", texture="soft", lines=(line("rice", 150),), **common),
        Dish(id="squash_salad", name="Squash salad", course="salad", oven_min=30, oven_c=220,
             cuisine="hills", method="roasted", texture="crunchy",
             lines=(line("squash", 150), line("kale", 50)), **common),
        Dish(id="pot", name="Pot", course=COMPONENT, hold_days=2, method="boiled",
             lines=(line("rice", 80),), **common),
    ]  # fmt: skip


def flexible(item: str, grams: float) -> Line:
    """A line that the rule `recipe_stretch` may stretch."""
    return line(item, grams).model_copy(update={"flexible": True})


def boards(model: Model) -> Iterator[tuple[Run, ...]]:
    """Every set of runs that fills both slots on all days."""
    filling = (
        list(_sequences([run for run in model.runs if run.course == course]))
        for course in ("main", "salad")
    )
    for mains, salads in product(*filling):
        yield (*mains, *salads)


def _sequences(runs: list[Run], at: int = 0) -> Iterator[tuple[Run, ...]]:
    """Runs one after another from day `at` to the last."""
    if at == len(DAYS):
        yield ()
        return
    for run in runs:
        if run.shown[0] == DAYS[at]:
            for rest in _sequences(runs, at + len(run.shown)):
                yield (run, *rest)


def fixed(model: Model, board: tuple[Run, ...]) -> dict[int, tuple[float, float]]:
    """Column bounds that allow this board only."""
    chosen = {model.run_column[run.index] for run in board}
    return {j: (1.0, 1.0) if j in chosen else (0.0, 0.0) for j in model.run_column.values()}
