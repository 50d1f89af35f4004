"""The prices page: history, what keeping the menu costs at once, longer questions, new prices."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser import question_jobs
from optimiser.changes import parse_price
from optimiser.document_edits import rows_of, with_cell
from optimiser.exposure import exposures
from optimiser.near_kept import Spot, ground
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.present import week_of
from optimiser.price_lines import breakpoints
from optimiser.progress import Progress
from optimiser.question_jobs import Asked
from optimiser.questions import FOLLOWED, PricesMove, WhatItHangsOn, WhenItChanges
from optimiser.report_base import money_text
from optimiser.store import Store
from optimiser.ui.money_words import exactness
from optimiser.week import Week
from optimiser.what_if import apply_all, compare
from tests.ui.conftest import TODAY

Opens = Callable[[str], AppTest]


@pytest.fixture(autouse=True)
def _nothing_known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(question_jobs, "_answers", type(question_jobs._answers)())


def asked_of(place: Path) -> tuple[Week, Plan]:
    """The week and the plan that the page speaks of."""
    with Store.open(place) as store:
        reading = store.held().reading
        week = week_of(reading.cafe, reading.rules, TODAY)
        return week, store.latest_plans(week.start, 1)[0].plan


def text_of(page: AppTest) -> str:
    assert not page.exception, page.exception
    html = [unescape(one.proto.body) for one in page.get("html")]
    said = [
        one.value.replace("\\", "")
        for kind in ("caption", "error", "warning", "success", "markdown")
        for one in page.get(kind)
    ]
    return "\n".join([*html, *said])


def fine(element: Any) -> AppTest:
    page: AppTest = element.run(timeout=60)
    assert not page.exception, page.exception
    return page


def labels(page: AppTest) -> list[str]:
    return [one.label for one in page.button]


def ask(page: AppTest, place: Path, label: str) -> AppTest:
    """Press a question's button, wait for its end, run again as the watch does."""
    fine(next(one for one in page.button if one.label == label).click())
    job = question_jobs.job_of(str(place))
    assert job is not None and job.wait(120)
    assert job.error is None
    return fine(page)


def choose(page: AppTest, ingredient: str) -> AppTest:
    return fine(page.selectbox(key="prices_ingredient").set_value(ingredient))


def test_without_a_plan_it_leads_to_the_week(page_store: Path, open_page: Opens) -> None:
    page = open_page("prices")
    assert "No plan of this week yet" in text_of(page)
    assert "Open the week" in text_of(page)
    assert not page.selectbox


def test_it_shows_what_a_thing_costs_and_what_is_spent_on_it(
    planned_store: Path, open_page: Opens
) -> None:
    page = choose(open_page("prices"), "squash")
    # 10 kg for 28.05 = 2.805 a kg; a squash is 1.5 kg: 4.2075; two for 9.40 = 4.70 each
    assert "$4.21 each</b> at The Van, 10 kg" in text_of(page)
    _, plan = asked_of(planned_store)
    spent = sum(buy.cost_cents for buy in plan.buys if buy.ingredient == "squash")
    assert spent > 0
    assert f"{money_text(spent, 'AUD')} of it is bought" in text_of(page)


def test_the_slider_tells_at_once_what_keeping_the_menu_costs(
    planned_store: Path, open_page: Opens
) -> None:
    page = choose(open_page("prices"), "squash")
    assert "Keeping this menu" not in text_of(page)
    fine(page.slider(key="prices_pct_ingredient_squash").set_value(50))
    week, plan = asked_of(planned_store)
    old, new = (Nearby(one, plan).kept for one in (week, dearer(week, "squash=+50%")))
    assert old and new and old.margin_cents - new.margin_cents > 1
    loss = money_text(old.margin_cents - new.margin_cents, "AUD")
    assert f"Keeping this menu <b>costs {loss}</b>" in text_of(page)
    assert question_jobs.job_of(str(planned_store)) is None  # no search was needed


def dearer(week: Week, *prices: str) -> Week:
    return apply_all(week, [parse_price(one) for one in prices])


def test_several_prices_move_together(planned_store: Path, open_page: Opens) -> None:
    page = choose(open_page("prices"), "squash")
    fine(page.multiselect(key="prices_also").set_value([("group", "leaf"), ("supplier", "van")]))
    for key, pct in (("ingredient_squash", 50), ("group_leaf", 20), ("supplier_van", -10)):
        fine(page.slider(key=f"prices_pct_{key}").set_value(pct))
    week, plan = asked_of(planned_store)
    moved = dearer(week, "squash=+50%", "group:leaf=+20%", "supplier:van=-10%")
    old, new = Nearby(week, plan).kept, Nearby(moved, plan).kept
    assert old and new
    more = new.margin_cents - old.margin_cents
    words = f"costs {money_text(-more, 'AUD')}" if more < 0 else f"earns {money_text(more, 'AUD')}"
    assert f"Keeping this menu <b>{words}" in text_of(page)


def test_keeping_against_changing_is_asked_in_the_background_and_kept(
    planned_store: Path, open_page: Opens
) -> None:
    page = choose(open_page("prices"), "squash")
    fine(page.slider(key="prices_pct_ingredient_squash").set_value(100))
    page = ask(page, planned_store, "Keep the menu or change it?")
    week, plan = asked_of(planned_store)
    found = compare(week, plan, [parse_price("squash=+100%")])
    assert found.keeping_costs_cents
    assert f"costs {money_text(found.keeping_costs_cents, 'AUD')}" in text_of(page)
    table = page.dataframe[0].value
    assert list(table["margin"]) == [
        money_text(one.objective_cents, "AUD")
        for one in (found.before, *(step.plan for step in found.steps))
    ]
    assert exactness(found.steps) in text_of(page)
    # the answer is still there for somebody who opens the page afresh and moves the slider back
    again = open_page("prices")
    assert again.selectbox(key="prices_ingredient").value == "squash"  # of the last question
    fine(again.slider(key="prices_pct_ingredient_squash").set_value(100))
    assert again.dataframe[0].value.equals(table)


def test_breakpoints_are_told_and_drawn(planned_store: Path, open_page: Opens) -> None:
    page = choose(open_page("prices"), "squash")
    page = ask(page, planned_store, "When does the menu change?")
    week, plan = asked_of(planned_store)
    found = breakpoints(week, plan, "squash")
    assert found.sentences("AUD")[0] in text_of(page)
    assert text_of(page).count("$") > 0
    assert f"What is on at which price ({len(found.pieces)})" in [e.label for e in page.expander]
    assert "When does the menu change?" not in labels(page)  # it is answered


def test_the_ranking_shows_what_the_week_depends_on(planned_store: Path, open_page: Opens) -> None:
    page = open_page("prices")
    fine(page.segmented_control(key="prices_view").set_value("What depends on prices"))
    page = ask(page, planned_store, "Rank what the week depends on")
    week, plan = asked_of(planned_store)
    found = exposures(week, plan, with_breakpoints=FOLLOWED)
    table = page.dataframe[0].value
    assert list(table["what"]) == [one.name for one in found]
    assert list(table["kept"]) == pytest.approx([one.loss_kept_cents / 100 for one in found])
    assert f"Most depends on {found[0].name}" in text_of(page)


def test_a_new_price_is_a_row_of_its_own(planned_store: Path, open_page: Opens) -> None:
    page = choose(open_page("prices"), "squash")
    page.text_input(key="write_cents").input("31.50")
    page = press_save(page)
    with Store.open(planned_store) as store:
        head = store.head()
        assert head is not None
        rows = [dict(one) for one in rows_of(store.document(head.id), "offers.csv")]
    new = {"ingredient": "squash", "supplier": "van", "pack_qty": "2", "pack_unit": "each"}
    day = asked_of(planned_store)[0].planned_on.isoformat()
    assert {**new, "price": "31.50", "from_date": day} in rows
    assert len(rows) == 7
    assert "Saved. Price of Squash" in text_of(page)
    assert "Plan the week with it" in text_of(page)


def press_save(page: AppTest) -> AppTest:
    fine(next(one for one in page.button if one.label == "Save the price").click())
    return fine(page) if "Saved." not in text_of(page) else page


def test_a_price_that_is_none_is_told_with_its_row_and_column(
    planned_store: Path, open_page: Opens
) -> None:
    page = choose(open_page("prices"), "squash")
    page.text_input(key="write_cents").input("dear")
    fine(next(one for one in page.button if one.label == "Save the price").click())
    said = "\n".join(one.value.replace("\\", "") for one in page.error)
    assert "offers.csv:4:price: dear: not an amount of money" in said
    with Store.open(planned_store) as store:
        assert len(store.history()) == 1


def test_prices_of_a_what_if_are_written_down_on_demand(
    planned_store: Path, open_page: Opens
) -> None:
    page = choose(open_page("prices"), "squash")
    fine(page.slider(key="prices_pct_ingredient_squash").set_value(20))
    fine(page.button(key="write_moves").click())
    week, _ = asked_of(planned_store)
    squash = [offer.price_cents_on(week.planned_on) for offer in week.cafe.offers_of["squash"]]
    assert sorted(one or 0 for one in squash) == [1128, 3366]  # 9.40 and 28.05, 20 % dearer


def test_a_plan_that_broke_says_so_and_is_not_asked_about(
    planned_store: Path, open_page: Opens
) -> None:
    with Store.open(planned_store) as store:
        head = store.head()
        assert head is not None
        document = store.document(head.id)
        none_left = with_cell(document, "suppliers.csv", 2, "delivers", "sun")
        store.save(none_left, "Ben", "The van comes on Sundays", head.id)
    page = open_page("prices")
    assert "no longer works" in text_of(page)
    assert "Its menu cannot be kept" in text_of(page)
    assert not page.slider


def test_stop_keeps_what_was_found_and_says_so(
    planned_store: Path, open_page: Opens, monkeypatch: pytest.MonkeyPatch
) -> None:
    week, plan = asked_of(planned_store)
    done = exposures(week, plan)[:1]

    def slow(self: object, near: Nearby, report: Any, stop: Any) -> Any:
        report(Progress(0.0, "squash", None, None))
        assert stop.wait(60)
        return done

    monkeypatch.setattr(WhatItHangsOn, "ask", slow)
    page = open_page("prices")
    fine(page.segmented_control(key="prices_view").set_value("What depends on prices"))
    fine(next(one for one in page.button if one.label.startswith("Rank")).click())
    other = open_page("prices")  # a reload: the question is still worked on, and can be stopped
    assert "Which prices the week depends on" in text_of(other)
    fine(other.button(key="watch_stop").click())
    job = question_jobs.job_of(str(planned_store))
    assert job is not None and job.wait(60)
    fine(page)
    assert "Stopped before the end" in text_of(page)
    assert len(page.dataframe[0].value) == 1
    assert "Rank what the week depends on, again" in labels(page)


def test_a_question_that_cannot_be_answered_says_why(planned_store: Path) -> None:
    week, plan = asked_of(planned_store)
    spot = Spot(str(planned_store), 1, 1)
    question = WhenItChanges("nothing_of_the_kind")
    job = question_jobs.ask(spot, question, week, plan)
    assert job.wait(60)
    answer = question_jobs.answer_of(spot, question)
    assert answer is not None and answer.found is None and answer.error is not None
    assert answer.error.startswith("This cannot be answered:")
    assert job.about == Asked(spot, question)


def test_kept_margins_are_remembered_and_the_ground_is_built_once(planned_store: Path) -> None:
    week, plan = asked_of(planned_store)
    spot = Spot(str(planned_store), 1, 1)
    first = ground(spot, week, plan)
    change = (parse_price("squash=+10%"),)
    assert first.kept(change) is first.kept(change)
    assert ground(spot, week, plan) is first
    assert ground(spot, week, plan, for_jobs=True) is not first
    first.warm()
    with first.lent() as near:
        built = near
    with first.lent() as near:
        assert near is built
    assert PricesMove(change) == PricesMove((parse_price("squash=+10%"),))
