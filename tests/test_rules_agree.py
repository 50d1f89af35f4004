"""Rows and check, written two ways, charge the same on random small weeks."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.cafe import Cafe, Served
from optimiser.plan import Buy, Open, Plan, Use
from optimiser.rules import RULE_CLASSES, parse_rule
from tests.rule_cases import PARAMETERS
from tests.rule_cases.base import DAYS, MAINS, SALADS
from tests.rule_weeks import MON, SHELF, amounts, limited, lot, tiny_cafe, week_plan


@st.composite
def cafes(draw: st.DrawFn) -> Cafe:
    """The tiny cafe with random plates, minutes, stock and history."""
    minutes = st.integers(20, 200)
    last = st.sampled_from([None, MON - timedelta(days=1), *DAYS])
    past = [MON - timedelta(days=n) for n in range(1, 8)]
    eaten = st.builds(
        Served,
        day=st.sampled_from(past),
        dish=st.sampled_from(SALADS),
        cooked=st.sampled_from([0, 10]),
        sold=st.sampled_from([0, 7]),
    )
    return tiny_cafe(
        plate={"salad": draw(st.integers(0, 2)), "main": draw(st.integers(0, 1))},
        kitchen=limited(hands_on_min=draw(minutes), oven_min=draw(minutes), hob_min=draw(minutes)),
        stock=(
            lot(1, "lentil", draw(st.integers(1, 900)), draw(last)),
            lot(2, "pumpkin", 3000, draw(last), units=3),
            lot(3, "pumpkin", 450, draw(last), state="opened"),
            lot(4, "stock_base", 700, draw(last), state="cooked"),
        ),
        history=tuple(draw(st.lists(eaten, max_size=3))),
    )


@st.composite
def weeks(draw: st.DrawFn, cafe: Cafe) -> Plan:
    """Full boards, cooks of one to three days, component cooks, random purchases and uses."""
    running: dict[str, tuple] = {}
    cooks: list[tuple] = []
    for day in DAYS:
        board = draw(st.lists(st.sampled_from(SALADS), min_size=2, max_size=2, unique=True))
        board.append(draw(st.sampled_from(MAINS)))
        for dish in [dish for dish in running if dish not in board]:
            cooks.append(running.pop(dish))
        for dish in board:
            _, cook_day, days = running.get(dish, (dish, day, ()))
            if days and (len(days) == 3 or draw(st.booleans())):
                cooks.append(running[dish])
                cook_day, days = day, ()
            running[dish] = (dish, cook_day, (*days, day))
    cooks += running.values()
    taken = {(dish, cook_day) for dish, cook_day, _ in cooks}
    for part in ("stock_base", "quinoa_salad"):
        for day in draw(st.sets(st.sampled_from(DAYS))):
            if (part, day) not in taken:
                cooks.append((part, day, ()))
    return week_plan(cafe, cooks, extra=draw(st.integers(0, 9)), **draw(shopping()))


@st.composite
def shopping(draw: st.DrawFn) -> dict[str, tuple]:
    """Purchases on Monday and Wednesday, cuts, and uses no larger than their lots."""
    buys, uses = [], []
    for item, *_, cents in SHELF:
        for day in (DAYS[0], DAYS[2]):
            packs = draw(st.integers(0, 2))
            if packs == 0:
                continue
            pack = {"packs": packs, "pack_qty": 1, "pack_unit": "kg", "cost_cents": packs * cents}
            buys.append(Buy(deliver_on=day, supplier="market", ingredient=item, **pack))
            grams = draw(st.floats(0, packs * 1000))
            uses.append(_use(item, grams, f"bought-{day}-market-{item}"))
    uses.append(_use("lentil", draw(st.floats(0, 900)), "stock-1"))
    uses.append(_use("pumpkin", draw(st.floats(0, 450)), "stock-3"))
    uses.append(_use("stock_base", draw(st.floats(0, 700)), "stock-4"))
    units = draw(st.integers(0, 3))
    opens = (Open(date=DAYS[1], ingredient="pumpkin", units=units, lot="stock-2"),) * (units > 0)
    return {"buys": tuple(buys), "uses": tuple(uses), "opens": opens}


def _use(item: str, grams: float, source: str) -> Use:
    return Use(date=DAYS[3], dish="soup", item=item, grams=grams, lot=source)


def test_every_kind_is_tried():
    assert set(PARAMETERS) == {rule.model_fields["kind"].default for rule in RULE_CLASSES}


@pytest.mark.parametrize("kind", PARAMETERS)
@settings(max_examples=20, deadline=None)
@given(data=st.data())
def test_rows_and_check_charge_the_same(kind: str, data: st.DataObject):
    cafe = data.draw(cafes())
    plan = data.draw(weeks(cafe))
    rule = parse_rule({"kind": kind, **data.draw(st.fixed_dictionaries(PARAMETERS[kind]))})
    by_rows, by_check = amounts(rule, plan, cafe)
    assert by_rows == pytest.approx(by_check, abs=1e-5)
