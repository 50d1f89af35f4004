"""The why page: a dish, a leftover, a rule, other good weeks; and doing what an answer offers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser import question_jobs
from optimiser.larder_plan import stories
from optimiser.report_base import money_text
from optimiser.rule_prices import price_of_rule
from optimiser.rules.pins import Bar, Pin
from optimiser.store import Store
from optimiser.surplus import surplus_worth
from optimiser.ui.money_words import exactness, step_words
from optimiser.why_not import why_here, why_not
from tests.ui.test_prices_page import ask, asked_of, fine, labels, text_of

Opens = Callable[[str], AppTest]


@pytest.fixture(autouse=True)
def _nothing_known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(question_jobs, "_answers", type(question_jobs._answers)())


def choose(page: AppTest, dish: str) -> AppTest:
    return fine(page.selectbox(key="why_dish").set_value(dish))


def shown_dish(place: Path) -> str:
    return asked_of(place)[1].shown[0].dish


def absent_dish(place: Path) -> str:
    """A dish for sale that is in no cabinet of the week."""
    week, plan = asked_of(place)
    there = {row.dish for row in plan.shown}
    sold = [one.id for one in week.cafe.dishes.values() if one.course != "component"]
    return next(one for one in sold if one not in there)


def press(page: AppTest, label: str) -> AppTest:
    return fine(next(one for one in page.button if one.label.startswith(label)).click())


def saved_rules(place: Path) -> tuple[Any, ...]:
    with Store.open(place) as store:
        return store.held().reading.rules


def test_without_a_plan_it_leads_to_the_week(page_store: Path, open_page: Opens) -> None:
    page = open_page("why")
    assert "No plan of this week yet" in text_of(page) and not page.selectbox


def test_why_a_dish_is_on(planned_store: Path, open_page: Opens) -> None:
    dish = shown_dish(planned_store)
    page = choose(open_page("why"), dish)
    page = ask(page, planned_store, "Why is it on?")
    week, plan = asked_of(planned_store)
    found = why_here(week, plan, dish)
    first = next((step for step in found.steps if step is not None), None)
    if first is None:
        assert "No week without it was found" in text_of(page)
    else:
        assert f"Doing without it {step_words(first, 'AUD')}." in text_of(page)
        assert exactness(found.steps) in text_of(page)


def test_leaving_a_dish_out_saves_a_bar(planned_store: Path, open_page: Opens) -> None:
    dish = shown_dish(planned_store)
    page = ask(choose(open_page("why"), dish), planned_store, "Why is it on?")
    page = press(page, "Leave it out this week")
    assert Bar(dish=dish) in saved_rules(planned_store)
    assert "Plan the week with it" in text_of(page)


def test_why_a_dish_is_not_on(planned_store: Path, open_page: Opens) -> None:
    dish = absent_dish(planned_store)
    page = ask(choose(open_page("why"), dish), planned_store, "Why is it not on?")
    week, plan = asked_of(planned_store)
    found = why_not(week, plan, dish)
    text = text_of(page)
    first = next((step for step in found.steps if step is not None), None)
    if first is None:
        assert "It cannot come in" in text
    else:
        assert f"Having it {step_words(first, 'AUD')}." in text
    if found.portion_price_cents is not None:
        assert f"from {money_text(found.portion_price_cents, 'AUD')} a portion" in text
    folds = [f"Rules in its way ({len(found.obstacles)})"] if found.obstacles else []
    assert [one.label for one in page.expander] == folds
    for obstacle in found.obstacles:
        assert obstacle.title in text
    # it is still there after a reload
    again = open_page("why")
    assert again.selectbox(key="why_dish").value == dish
    assert text_of(again) == text


@pytest.mark.parametrize("offer", ["Have it on", "Sell it at"])
def test_what_an_answer_offers_can_be_done(
    planned_store: Path, open_page: Opens, offer: str
) -> None:
    week, plan = asked_of(planned_store)
    dishes = [one.id for one in week.cafe.dishes.values() if one.course != "component"]
    places = [(one, day) for one in dishes for day in week.open_dates]
    dish, day, cents = next(
        (dish, day, found.portion_price_cents)
        for dish, day in places
        if dish not in plan.dishes_on(day)
        and (found := why_not(week, plan, dish, day, changes=1)).portion_price_cents
    )
    page = choose(open_page("why"), dish)
    page = fine(page.selectbox(key="why_day").set_value(day))
    page = ask(page, planned_store, next(one for one in labels(page) if "not on" in one))
    page = press(page, offer)
    assert "Plan the week with it" in text_of(page)
    if offer == "Have it on":
        assert Pin(dish=dish, day=day) in saved_rules(planned_store)
        assert "no longer works as it is" in text_of(page)  # the plan has it not
        return
    with Store.open(planned_store) as store:
        assert store.held().reading.cafe.dishes[dish].price_cents == cents


def test_where_a_lot_goes_and_what_more_is_worth(planned_store: Path, open_page: Opens) -> None:
    page = open_page("why")
    fine(page.segmented_control(key="why_view").set_value("A leftover"))
    week, plan = asked_of(planned_store)
    lot = next(one for one in week.cafe.stock if one.item == "squash" and one.unit == "each")
    fine(page.selectbox(key="why_lot").set_value(lot.id))
    story = stories(plan, week.cafe)[lot.id]
    assert story.ending.capitalize() in text_of(page)
    for use in story.uses:
        assert use in text_of(page)
    page = ask(page, planned_store, "What would 1 piece more be worth?")
    found = surplus_worth(week, plan, "squash", 1500, 5, lot.use_by)
    first = found.next_unit(False)[0]
    assert money_text(abs(first), "AUD") in text_of(page)
    assert "1 piece more" in text_of(page)


def part(page: AppTest, name: str) -> AppTest:
    return fine(page.segmented_control(key="why_view").set_value(name))


def test_what_a_rule_costs_and_switching_it_off(planned_store: Path, open_page: Opens) -> None:
    page = part(open_page("why"), "A rule")
    week, plan = asked_of(planned_store)
    number = next(n for n, rule in enumerate(week.rules) if isinstance(rule, Bar))
    fine(page.selectbox(key="why_rule").set_value(number))
    page = ask(page, planned_store, "What does it cost?")
    found = price_of_rule(week, plan, number)
    assert found.sentence in text_of(page)
    assert ("Exact." in text_of(page)) is found.exact
    again = open_page("why")  # a reload: the part and the rule of the last question
    page = press(part(again, "A rule"), "Switch it off")
    with Store.open(planned_store) as store:
        reading = store.held().reading
    assert reading.rules == () and reading.rules_off == (week.rules[number],)


def test_rules_of_the_settings_cannot_be_switched_off_here(
    planned_store: Path, open_page: Opens
) -> None:
    page = part(open_page("why"), "A rule")
    week, _ = asked_of(planned_store)
    number = next(n for n, rule in enumerate(week.rules) if not isinstance(rule, Bar))
    fine(page.selectbox(key="why_rule").set_value(number))
    page = ask(page, planned_store, "What does it cost?")
    assert "Switch it off" not in labels(page)
