"""A one-slot cafe for weeks solved in the head, and the real planner's answer to them."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from optimiser.cafe import Cafe, Course, Cover, Dish, Form, Ingredient, Money, Supplier
from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.rules import parse_rule
from optimiser.search import Effort
from optimiser.week import Week
from tests.small_cafe import ingredient, offer

MON = date(2026, 1, 5)
TUE, WED, THU, FRI, SAT, SUN = (MON + timedelta(days=n) for n in range(1, 7))
BEFORE = date(2026, 1, 1)

SQUASH = ingredient("squash", Form.WHOLE, piece_g=1000, keeps_days=20, opened_keeps_days=3)
RICE = ingredient("rice", Form.DRY, keeps_days=365)


def dish(id: str, *lines: Any, course: str = "main", **fields: Any) -> Dish:
    """A recipe of 4 portions of 100 g, cooked 4 at a time."""
    body: dict[str, Any] = {
        "portions": 4, "portion_g": 100, "step_portions": 4, "max_portions": 12, "method": "boiled",
    }  # fmt: skip
    return Dish(id=id, name=id, course=course, lines=tuple(lines), **(body | fields))


def cafe(dishes: list[Dish], items: list[Ingredient], days: list[date], **changes: Any) -> Cafe:
    """One slot, 4 portions wanted on each of `days`, open on those weekdays only."""
    fields: dict[str, Any] = {
        "name": "Story",
        "open_days": frozenset(day.weekday() for day in days),
        "courses": {"main": Course(slots=1, price_cents=1000, take_up=1, portion_g=100)},
        "money": Money(appeal_cents=0),
        "ingredients": {one.id: one for one in items},
        "suppliers": {
            "farm": Supplier(id="farm", name="farm", delivers=frozenset(range(7))),
        },
        "offers": tuple(offer(one.id, "farm", 400, **_pack(one)) for one in items),
        "dishes": {one.id: one for one in dishes},
        "covers": {day: Cover(expected=4, low=4, high=4) for day in days},
    }
    return Cafe(**(fields | changes))


def _pack(item: Ingredient) -> dict[str, Any]:
    """A piece, or a kilogram."""
    return {"pack_unit": "each", "pieces": 1} if item.piece_g else {}


def best_plan(this: Cafe, days: list[date], pins: dict[str, list[date]], **changes: Any) -> Plan:
    """The proven best week with dishes pinned to days."""
    rules = tuple(
        parse_rule({"kind": "pin", "dish": name, "day": day})
        for name, pinned in pins.items()
        for day in pinned
    )
    length = (days[-1] - days[0]).days + 1
    week = Week(
        **({"cafe": this, "rules": rules, "start": days[0], "planned_on": BEFORE, "days": length}
           | changes)
    )  # fmt: skip
    outcome = plan_week(week, Effort(seconds=20, work=3))
    assert outcome.rejected == ()
    assert outcome.plan is not None and outcome.plan.status == "optimal"
    return outcome.plan
