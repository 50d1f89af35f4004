"""Weeks solved in the head under rules about stock, and stretched recipes spoilt by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from optimiser.cafe import Cafe, Form, Lot, State
from optimiser.plan import Plan, Stretch, read_plan
from optimiser.planner import plan_week
from optimiser.prep_report import prep_rows
from optimiser.rules import Rule, parse_rule
from optimiser.search import Effort
from optimiser.verify import verify
from optimiser.week import Week
from tests.small_cafe import ingredient, line, offer
from tests.story_cafe import BEFORE, MON, RICE, SAT, SQUASH, TUE, WED, cafe, dish

KALE = ingredient("kale", Form.LOOSE, keeps_days=3)


def flexible(item: str, grams: float) -> Any:
    return line(item, grams, flexible=True)


def week_of(this: Cafe, days: list[date], *settings: dict[str, Any]) -> Week:
    rules: tuple[Rule, ...] = tuple(parse_rule(one) for one in settings)
    length = (days[-1] - days[0]).days + 1
    return Week(this, rules, days[0], BEFORE, length)


def planned(week: Week) -> Plan:
    """The proven best week."""
    outcome = plan_week(week, Effort(seconds=20, work=3))
    assert outcome.rejected == () and outcome.plan is not None
    assert outcome.plan.status == "optimal"
    return outcome.plan


def soup_week(grams: float, *settings: dict[str, Any], **changes: Any) -> Week:
    """Squash soup on one day: `grams` of squash in a flexible line of 4 portions."""
    soup = dish("soup", flexible("squash", grams), line("rice", 40))
    return week_of(cafe([soup], [SQUASH, RICE], [MON], **changes), [MON], *settings)


STRETCH = {"kind": "recipe_stretch", "pct": 10}


@pytest.mark.parametrize(
    ("written_g", "squashes", "more_g"),
    [
        (950, 1, 50),  # the last 50 g would be binned at cost
        (1080, 1, -80),  # 80 g of a second squash are not worth it
        (1000, 1, 0),
        (880, 1, 88),  # no more than ten percent
        (1150, 2, 115),  # ten percent less would still need two
    ],
)
def test_a_recipe_gives_so_that_whole_squashes_are_finished(
    written_g: float, squashes: int, more_g: float
):
    plan = planned(soup_week(written_g, STRETCH))
    assert sum(cut.units for cut in plan.opens) == squashes
    assert sum(row.more_g for row in plan.stretched) == pytest.approx(more_g, abs=0.01)
    used_g = sum(use.grams for use in plan.uses if use.item == "squash")
    assert used_g == pytest.approx(written_g + more_g, abs=0.01)


def test_without_the_rule_and_in_lines_not_marked_no_recipe_gives():
    assert planned(soup_week(950)).stretched == ()
    stiff = dish("soup", line("squash", 950))
    assert planned(week_of(cafe([stiff], [SQUASH], [MON]), [MON], STRETCH)).stretched == ()


def test_a_price_lets_recipes_give_more_but_never_more_than_half():
    cheap = {**STRETCH, "price_cents": 0.01}
    plan = planned(soup_week(800, cheap))
    assert sum(row.more_g for row in plan.stretched) == pytest.approx(200, abs=0.01)
    half = planned(soup_week(600, cheap))
    assert sum(row.more_g for row in half.stretched) == pytest.approx(300, abs=0.01)
    assert half.terms_cents["rule_breaches"] == -3  # 240 g over, a hundredth of a cent each


def test_a_cooked_part_gives_too():
    pie = dish("pie", flexible("pot", 700))
    pot = dish("pot", line("rice", 100), course="component", step_portions=4, hold_days=2)
    plan = planned(week_of(cafe([pie, pot], [RICE], [MON]), [MON], {**STRETCH, "pct": 15}))
    assert [(row.item, round(row.more_g, 2)) for row in plan.stretched] == [("pot", 100)]


def test_the_prep_sheet_prints_the_stretched_amount(tmp_path):
    week = soup_week(950, STRETCH)
    plan = planned(week)
    rows = [row for row in prep_rows(plan, week.cafe) if row["item"] == "squash"]
    weighed = [row for row in rows if row["task"] == "weigh"]
    assert [(row["edible_g"], row["text"]) for row in weighed] == [(1000, "recipe +5.3 %")]
    (tmp_path / "plan.json").write_text(plan.to_json(), encoding="utf-8")
    assert read_plan(tmp_path / "plan.json") == plan


def spoilt(plan: Plan, *rows: Stretch) -> Plan:
    return plan.model_copy(update={"stretched": rows})


def test_the_verifier_refuses_stretched_recipes_that_no_rule_or_line_allows():
    week = soup_week(950, STRETCH)
    plan = planned(week)
    assert verify(plan, week).passed
    (row,) = plan.stretched
    bare = Week(week.cafe, (), week.start, week.planned_on, week.days)
    assert any("no rule lets" in b.text for b in verify(plan, bare).breaches)
    for changed in (
        spoilt(plan),
        spoilt(plan, row.model_copy(update={"more_g": 49.0})),
        spoilt(plan, row.model_copy(update={"item": "rice"})),
        spoilt(plan, row.model_copy(update={"date": MON + timedelta(days=1)})),
        spoilt(plan, row.model_copy(update={"dish": "nothing"})),
        spoilt(plan, row, row),
        spoilt(plan, row.model_copy(update={"more_g": float("nan")})),
        spoilt(plan, row, Stretch(date=MON, dish="soup", item="rice", more_g=1.0)),
    ):
        assert not verify(changed, week).passed


def test_a_line_stretched_beyond_the_rule_breaks_it():
    week = soup_week(950, STRETCH)
    plan = planned(week)
    tight = Week(
        week.cafe, (parse_rule({**STRETCH, "pct": 2}),), week.start, week.planned_on, week.days
    )
    broken = [b for b in verify(plan, tight).breaches if b.rule == "Recipes that give a little"]
    assert [round(b.amount, 2) for b in broken] == [31.0]  # 50 g less 2 % of 950


def test_a_par_is_bought_even_if_no_dish_takes_any():
    """Par 2.5 kg of rice: 0.3 kg in stock, the order brings 3 packs of 1 kg."""
    this = cafe([dish("soup", line("squash", 400))], [SQUASH, RICE], [MON], stock=(
        Lot(id="stock-1", item="rice", state=State.WHOLE, qty=300, unit="g", grams=300),
    ))  # fmt: skip
    plan = planned(week_of(this, [MON], {"kind": "par_level", "item": "rice", "par_g": 2500}))
    assert [(buy.ingredient, buy.packs) for buy in plan.buys if buy.ingredient == "rice"] == [
        ("rice", 3)
    ]
    assert sum(row.grams for row in plan.left if row.item == "rice") == 3300


def test_a_par_of_pieces_counts_uncut_ones_only():
    this = cafe([dish("soup", line("squash", 400))], [SQUASH], [MON])
    par = {"kind": "par_level", "item": "squash", "par_pieces": 2}
    plan = planned(week_of(this, [MON], par))
    assert sum(buy.packs for buy in plan.buys) == 3 and sum(o.units for o in plan.opens) == 1


def test_a_par_that_spoils_before_the_next_open_day_cannot_be_kept():
    """Kale of Monday is good until Wednesday; the cafe opens again a week later."""
    this = cafe([dish("soup", line("kale", 400))], [KALE], [MON])
    outcome = plan_week(
        week_of(this, [MON], {"kind": "par_level", "item": "kale", "par_g": 100}),
        Effort(seconds=10, work=2),
    )
    assert outcome.plan is None and outcome.infeasible


def test_one_lot_can_be_named_for_use():
    this = cafe([dish("soup", line("rice", 400))], [RICE], [MON], stock=tuple(
        Lot(id=f"stock-{n}", item="rice", state=State.WHOLE, qty=500, unit="g", grams=500)
        for n in (1, 2)
    ))  # fmt: skip
    plan = planned(week_of(this, [MON], {"kind": "use_up", "lot": "stock-2", "share_pct": 80}))
    assert {(use.lot, round(use.grams)) for use in plan.uses} == {("stock-2", 400)}
    assert "rice (stock-2)" in parse_rule({"kind": "use_up", "lot": "stock-2"}).describe(this)
    (fault,) = parse_rule({"kind": "use_up", "lot": "stock-9"}).faults(this)
    assert "stock-9" in fault
    (fault,) = parse_rule({"kind": "use_up", "item": "squash", "lot": "stock-1"}).faults(this)
    assert "is 'rice'" in fault


@pytest.mark.parametrize(("things", "halves"), [(1, 1), (0, 0)])
def test_halves_over_a_closed_day_are_counted(things: int, halves: int):
    """Saturday's soup takes 400 g of a squash, or rice does: 0 things is soup of rice."""
    dishes = [dish("soup", line("squash", 400)), dish("rice_soup", line("rice", 1900))]
    this = cafe(dishes, [SQUASH, RICE], [SAT])
    rule = {"kind": "opened_over_closed", "things": things}
    plan = planned(week_of(this, [SAT], rule))
    assert len(plan.opens) == halves
    assert plan.cooks[0].dish == ("soup" if halves else "rice_soup")


def test_the_fridge_holds_what_waits_and_nothing_more():
    """Two days of kale at 5 l a kilo: 3.2 kg for Monday and Tuesday come in one van on Monday,
    so 1.6 kg, 8 l, wait on Monday evening unless a second pack comes on Tuesday."""
    kale = KALE.model_copy(update={"fridge_l_per_kg": 5.0})
    dishes = [dish("soup", line("kale", 1600))]
    days = [MON, TUE]
    pack = (offer("kale", "farm", 300, pack_qty=3.2, pack_g=3200),
            offer("kale", "farm", 200, pack_qty=1.6, pack_g=1600))  # fmt: skip
    this = cafe(dishes, [kale], days, offers=pack)
    wide = planned(week_of(this, days, {"kind": "fridge_litres", "litres": 8}))
    assert [(buy.deliver_on, buy.packs, buy.pack_qty) for buy in wide.buys] == [(MON, 1, 3.2)]
    tight = planned(week_of(this, days, {"kind": "fridge_litres", "litres": 7.9}))
    assert [(buy.deliver_on, buy.pack_qty) for buy in tight.buys] == [(MON, 1.6), (TUE, 1.6)]


def test_an_opened_squash_is_finished_where_the_rule_asks_for_it():
    """A squash of 1 kg for soup of 400 g: cooked again on Wednesday, 200 g remain."""
    days = [MON, WED]
    dishes = [dish("soup", line("squash", 400)), dish("rice_soup", line("rice", 100))]
    this = cafe(dishes, [SQUASH, RICE], days)
    rest = {"kind": "finish_opened", "rest_g": 200}
    once = {"kind": "weekly_cap", "days": 2}
    plan = planned(week_of(this, days, rest, once, {"kind": "pin", "dish": "soup", "day": "mon"}))
    assert [cook.dish for cook in plan.cooks] == ["soup", "soup"]
    tight = planned(week_of(this, days, {**rest, "rest_g": 100}))
    assert [cook.dish for cook in tight.cooks] == ["rice_soup", "rice_soup"]
