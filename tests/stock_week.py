"""A week with everything in it that a plan can be spoilt by: flexible lines stretched, rows of
the cabinet, pars on the shelf, cooks for several days, a closed day, cooked parts."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

from optimiser.cafe import Course, Cover, Form, Kitchen, Line, Lot, State
from optimiser.plan import Plan, read_plan
from optimiser.rules import parse_rule
from optimiser.week import Week
from tests.small_cafe import ingredient, line, offer
from tests.story_cafe import BEFORE, MON, THU, TUE, cafe, dish

WED = MON + timedelta(days=2)
DAYS = [MON, TUE, THU]


def flexible(item: str, grams: float) -> Line:
    return line(item, grams, flexible=True)


RULES: tuple[dict[str, Any], ...] = (
    {"kind": "recipe_stretch", "pct": 10},
    {"kind": "par_level", "item": "rice", "par_g": 2500},
    {"kind": "par_level", "item": "squash", "par_pieces": 2},
    {"kind": "neighbours", "price_cents": 50},
    {"kind": "fridge_litres", "litres": 25},
    {"kind": "finish_opened", "rest_g": 100},
    {"kind": "opened_over_closed", "things": 1},
    {"kind": "closed_day_life", "spare_days": 1},
    {"kind": "plate_salt", "most_g": 1},
    {"kind": "pin", "dish": "soup", "day": "mon"},
    {"kind": "pin", "dish": "pie", "day": "tue"},
    {"kind": "pin", "dish": "squash_salad", "day": "tue"},
    {"kind": "pin", "dish": "squash_salad", "day": "thu"},
    {"kind": "pin", "dish": "kale_salad", "day": "mon"},
)


def stock_week() -> Week:
    """Monday, Tuesday and Thursday; Wednesday is closed."""
    shelf = [
        ingredient("squash", Form.WHOLE, piece_g=1000, keeps_days=20, opened_keeps_days=3,
                   colour="orange", sodium_mg=10.0),
        ingredient("kale", Form.LOOSE, keeps_days=3, colour="green", fridge_l_per_kg=5.0,
                   sodium_mg=50.0),
        ingredient("rice", Form.DRY, keeps_days=365, colour="white"),
    ]  # fmt: skip
    common: dict[str, Any] = {"course": "salad", "hold_days": 4}
    dishes = [
        dish("soup", flexible("squash", 950), line("rice", 40)),
        dish("pie", flexible("pot", 350), line("kale", 80)),
        dish("pot", line("rice", 100), course="component", hold_days=3),
        dish("kale_salad", line("kale", 300), **common),
        dish("kale_slaw", line("kale", 250), **common),
        dish("squash_salad", flexible("squash", 480), line("rice", 50), hold_days=4,
             course="salad"),
        dish("rice_salad", line("rice", 300), **common),
    ]  # fmt: skip
    this = cafe(
        dishes, shelf, DAYS,
        open_days=frozenset({0, 1, 3}),
        courses={
            "main": Course(slots=1, price_cents=1000, take_up=1, portion_g=100),
            "salad": Course(slots=3, price_cents=800, take_up=3, portion_g=100),
        },
        plate={"main": 1, "salad": 1},
        kitchen=Kitchen(),
        offers=(
            offer("squash", "farm", 400, pack_unit="each", pieces=1),
            offer("kale", "farm", 300, pack_qty=0.5, pack_g=500),
            offer("rice", "farm", 400),
        ),
        stock=(
            Lot(id="stock-1", item="squash", state=State.OPENED, qty=300, unit="g", grams=300,
                use_by=TUE),
            Lot(id="stock-2", item="rice", state=State.WHOLE, qty=500, unit="g", grams=500),
            Lot(id="stock-3", item="squash", state=State.WHOLE, qty=2, unit="each", grams=2000,
                units=2, use_by=date(2026, 1, 30)),
        ),
        covers={day: Cover(expected=4, low=4, high=4) for day in DAYS},
    )  # fmt: skip
    return Week(this, tuple(parse_rule(one) for one in RULES), MON, BEFORE, 4)


def stock_plan() -> Plan:
    """One of its best plans, kept: which of them a solver finds differs by its version."""
    return read_plan(Path(__file__).parent / "data" / "stock_plan.json")
