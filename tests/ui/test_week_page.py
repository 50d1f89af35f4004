"""The week page: opens, plans, shows what the reports say, and takes wishes."""

from __future__ import annotations

import json
import re
import threading
from html import unescape

import pytest

from optimiser import jobs, plan_job, swap_job
from optimiser.conflict_job import conflict_job
from optimiser.document_edits import with_rules
from optimiser.formats import short_day
from optimiser.present import week_of
from optimiser.progress import Progress
from optimiser.reports import days, money_text, week_rows
from optimiser.rules.pins import Bar, KeepDay, Pin
from optimiser.store import Store
from optimiser.swaps import swap_costs
from optimiser.ui import week_dialogs
from optimiser.week_board import bound_sentence
from tests.ui.conftest import TODAY


def shown(test) -> str:
    """All HTML of the page, the cabinet included."""
    assert not test.exception, test.exception
    cabinet = [json.loads(one.proto.json)["html"] for one in test.get("bidi_component")]
    return unescape(" ".join([*(one.proto.body for one in test.get("html")), *cabinet]))


def button(test, label):
    return next(one for one in test.button if one.label.startswith(label))


def labels(test):
    return [one.label for one in test.button]


def press(test, label):
    """Press a button, then run again as a fragment that ends in a rerun does."""
    button(test, label).click().run(timeout=30)
    return test.run(timeout=30)


def finished(place):
    job = plan_job.plan_job(str(place))
    assert job.wait(60)
    return job


def held(place):
    with Store.open(place) as store:
        return store.held(), store.plans()


def change_rules(place, change):
    with Store.open(place) as store:
        now = store.held()
        document = store.document(now.revision)
        store.save(with_rules(document, change(now.reading.rules)), "Ben", "rules", now.revision)


def test_an_empty_cabinet_says_what_to_do_and_a_plan_fills_it(page_store, open_page):
    test = open_page("week")
    assert "The cabinet is empty" in shown(test) and not test.get("bidi_component")
    assert "Count the larder" in shown(test) and "to do" in shown(test)
    press(test, "Plan the week")
    assert finished(page_store).result.number == 1
    test.run()
    _, (kept,) = held(page_store)
    assert kept.plan.verified and money_text(kept.plan.objective_cents, "AUD") in shown(test)
    assert bound_sentence(kept.plan) in shown(test)
    assert "The cabinet is empty" not in shown(test)


def test_the_numbers_are_those_of_the_reports(planned_store, open_page):
    text = shown(open_page("week"))
    now, (kept,) = held(planned_store)
    cafe, plan = now.reading.cafe, kept.plan
    trays = re.findall(r'<button type="button" class="tray.*?</button>', text, re.S)
    rows = week_rows(plan, cafe)
    assert len(trays) == len(rows) > 0
    for tray, row in zip(trays, sorted(rows, key=lambda row: row["date"]), strict=True):
        assert row["name"] in tray and f"×{row['portions']}<" in tray
        known = "" if not row["protein_unknown"] else "≥ "
        assert f"{known}{row['protein_g']:g} g" in tray
        for colour in str(row["colours"]).split("; "):
            assert f'aria-label="{colour}"' in tray
    for day in days(plan, cafe):
        front = text.split(f'data-day="{day.date}"')[1].split("</section>")[0]
        for cents in (day.takings_cents, day.food_cents):
            assert money_text(cents, "AUD") in front
        assert f"{day.hands_on_min:g} of {cafe.kitchen.hands_on_min[day.date.weekday()]:g}" in front
    assert money_text(plan.objective_cents, "AUD") in text and bound_sentence(plan) in text


def test_unread_labels_are_said_and_never_pass_for_fitting(planned_store, open_page):
    text = shown(open_page("week"))
    now, (kept,) = held(planned_store)
    unread = {row["name"] for row in week_rows(kept.plan, now.reading.cafe) if row["diets_unknown"]}
    for tray in re.findall(r'<button type="button" class="tray.*?</button>', text, re.S):
        assert ("labels not read" in tray) == any(name in tray for name in unread)
    assert unread


def test_names_cannot_become_html(planned_store, open_page, monkeypatch):
    from optimiser.ui import cabinet_html

    assert "<script>" not in cabinet_html._mark("x") + cabinet_html._worded("<script>", "g")
    now, (kept,) = held(planned_store)
    cafe = now.reading.cafe
    evil = {
        ident: dish.model_copy(update={"name": "<script>alert(1)</script>"})
        for ident, dish in cafe.dishes.items()
    }
    from optimiser.cabinet_view import fronts

    cafe = cafe.model_copy(update={"dishes": evil})
    html = cabinet_html.cabinet_html(fronts(kept.plan, cafe), cafe)
    assert "<script>" not in html and "&lt;script&gt;" in html


@pytest.mark.parametrize(
    "label, expected",
    [
        ("Keep on", lambda day, dish: Pin(dish=dish, day=day)),
        ("Not on", lambda day, dish: Bar(dish=dish, day=day)),
        ("Never", lambda day, dish: Bar(dish=dish)),
    ],
)
def test_a_wish_for_a_dish_is_saved_as_a_rule_and_can_be_undone(
    planned_store, open_page, label, expected
):
    before, (kept,) = held(planned_store)
    row = kept.plan.shown[0]
    test = open_page("week")
    test.session_state[week_dialogs.PICK] = ["dish", str(row.date), row.dish]
    press(test.run(), label)
    after, _ = held(planned_store)
    assert after.reading.rules == (*before.reading.rules, expected(row.date, row.dish))
    assert "Planned before" in shown(test) or "no longer works" in shown(test)
    press(test, "↶ Undo")
    assert held(planned_store)[0].reading.rules == before.reading.rules
    assert "Checked: it keeps every rule." in shown(test)


def test_a_kept_dish_is_marked_and_let_go(planned_store, open_page):
    _, (kept,) = held(planned_store)
    row = kept.plan.shown[0]
    change_rules(planned_store, lambda rules: [*rules, Pin(dish=row.dish, day=row.date)])
    test = open_page("week")
    assert '<span class="mark">kept</span>' in shown(test)
    test.session_state[week_dialogs.PICK] = ["dish", str(row.date), row.dish]
    press(test.run(), "Let it go again")
    assert '<span class="mark">kept</span>' not in shown(test)


def test_a_day_is_kept_and_a_dish_put_on_it(planned_store, open_page):
    _, (kept,) = held(planned_store)
    day = kept.plan.shown[0].date
    test = open_page("week")
    test.session_state[week_dialogs.PICK] = ["day", str(day)]
    press(test.run(), "Keep the whole day")
    assert isinstance(held(planned_store)[0].reading.rules[-1], KeepDay)
    test.session_state[week_dialogs.PICK] = ["day", str(day)]
    test.run()
    box = test.selectbox(key="put_choice")
    assert set(kept.plan.dishes_on(day)).isdisjoint(box.options)
    box.select_index(0)
    test.session_state[week_dialogs.PICK] = ["day", str(day)]  # or the dialog closes
    test.run()
    press(test, f"Put it on {short_day(day)}")
    rule = held(planned_store)[0].reading.rules[-1]
    assert isinstance(rule, Pin) and rule.day == day


def test_swaps_are_ranked_by_what_they_cost_and_taken(planned_store, open_page):
    now, (kept,) = held(planned_store)
    cafe = now.reading.cafe
    week = week_of(cafe, now.reading.rules, TODAY)
    row = next(row for row in kept.plan.shown if row.course == "salad")
    expected = swap_costs(week, kept.plan, row.dish, row.cooked_on)
    assert [one.name for one in expected if one.gain_cents is not None]
    test = open_page("week")
    pick = ["dish", str(row.date), row.dish]
    test.session_state[week_dialogs.PICK] = pick
    test.run()
    key = swap_job.swap_key(str(planned_store), now.revision, kept.id, row.dish, row.cooked_on)
    assert jobs.find(key).wait(60)
    test.session_state[week_dialogs.PICK] = pick
    test.run()
    names = [label.split(" · ")[0] for label in labels(test) if " · " in label]
    assert names == [one.name for one in expected if one.gain_cents is not None]
    best = expected[0]
    label = next(label for label in labels(test) if label.startswith(best.name))
    assert money_text(abs(round(best.gain_cents)), "AUD") in label.replace("\\", "")
    press(test, label)
    days = [one.date for one in kept.plan.shown
            if (one.dish, one.cooked_on) == (row.dish, row.cooked_on)]  # fmt: skip
    rules = held(planned_store)[0].reading.rules
    for day in days:
        assert Pin(dish=best.dish, day=day) in rules and Bar(dish=row.dish, day=day) in rules
    assert len(rules) == len(now.reading.rules) + 2 * len(days)


def test_after_a_bar_the_plan_changes_little_and_the_change_is_marked(planned_store, open_page):
    now, (kept,) = held(planned_store)
    monday, cafe = kept.plan.shown[0].date, now.reading.cafe
    salad = kept.plan.dishes_on(monday, "salad")[0]
    change_rules(planned_store, lambda rules: [*rules, Bar(dish=salad, day=monday)])
    test = open_page("week")
    assert "no longer works" in shown(test) and cafe.name_of(salad) in shown(test)
    said = bound_sentence(kept.plan)
    assert said not in shown(test) and f"When it was planned: {said[0].lower()}" in shown(test)
    press(test, "Plan again, change little")
    ended = finished(planned_store).result
    assert ended.number == 2
    test.run()
    text = shown(test)
    assert '<span class="mark">new</span>' in text
    assert f"<s>{cafe.name_of(salad)}</s>" in text
    assert ended.bound in text and "of the earlier plan's cooks" in ended.bound
    _, (_, new) = held(planned_store)
    assert new.plan.bound_cents is None and salad not in new.plan.dishes_on(monday)


def test_an_impossible_week_names_the_rules_and_the_repairs(page_store, open_page):
    now, _ = held(page_store)
    day = now.reading.cafe.week
    change_rules(page_store, lambda rules: [Pin(dish="roast", day=day), Bar(dish="roast")])
    test = press(open_page("week"), "Plan the week")
    assert finished(page_store).result.outcome.infeasible
    assert conflict_job(str(page_store)).wait(60)
    test.run()
    text = " ".join([shown(test), *(one.value for one in (*test.error, *test.markdown))])
    assert "No week keeps these rules together" in text and "Dish pinned to a day" in text
    assert "Dish kept out" in text
    assert "margin of the week" not in text and held(page_store)[1] == []
    repair = next(one for one in labels(test) if "leave Roast squash out" in one)
    press(test, repair)
    assert held(page_store)[0].reading.rules == (Bar(dish="roast"),)
    assert "No week keeps" not in " ".join(one.value for one in test.error)


def test_a_plan_that_the_check_turns_down_is_not_shown(planned_store, open_page):
    _, (kept,) = held(planned_store)
    wrong = kept.plan.model_copy(update={"objective_cents": kept.plan.objective_cents + 700})
    with Store.open(planned_store) as store:
        store.add_plan(wrong, kept.revision, "Ada")
    test = open_page("week")
    text = shown(test)
    assert "did not pass the check" in text and "counted again" in text
    assert not test.get("bidi_component") and money_text(wrong.objective_cents, "AUD") not in text


def test_a_search_is_found_again_after_a_reload_and_stopped(page_store, open_page):
    gate = threading.Event()

    def work(report, stop):
        report(Progress(1.0, "improving", 100_000.0, 112_345.0))
        report(Progress(2.0, "improving", 101_000.0, 111_000.0))
        gate.set()
        stop.wait(30)
        raise jobs.Told("Stopped by the test.")

    job = jobs.start((str(page_store), plan_job.PLAN), work, about=None)
    assert gate.wait(5)
    for _ in range(2):  # a page of its own each time, as after a reload
        test = open_page("week")
        text = shown(test)
        assert "$1,010.00" in text and "$1,110.00" in text and "$100.00" in text
        assert "Plan the week" not in labels(test)
    button(test, "Stop, keep the best").click().run()
    assert job.wait(5) and job.stopping


def test_the_first_steps_show_their_state_and_go_away(planned_store, open_page):
    test = open_page("week")
    assert "Order list" in shown(test)
    press(test, "Done")
    assert "Order list" not in shown(test)
    _, (kept,) = held(planned_store)
    with Store.open(planned_store) as store:
        store.add_plan(kept.plan, kept.revision, "Ada")
    assert "Order list" not in shown(open_page("week"))
