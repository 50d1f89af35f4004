"""The page of rules: every kind draws its form, what is typed is saved, numbers agree."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser import jobs
from optimiser.conflict_job import conflict_job, conflict_key, start_conflict
from optimiser.document import Document
from optimiser.document_edits import rows_of, with_rows, with_rules
from optimiser.explain import conflict
from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.present import same_days, week_of
from optimiser.report_base import money_text
from optimiser.rule_draft import said
from optimiser.rules import RULE_CLASSES, TOPICS, Rule, parse_rule
from optimiser.search import Effort
from optimiser.store import Store
from optimiser.ui.plain import plain_markdown
from optimiser.ui.rule_form import HARD, PRICED
from optimiser.ui.rules_add import KINDS
from optimiser.verify import ask_rules
from optimiser.week import Week
from tests.ui.conftest import TODAY

Open = Callable[[str], AppTest]

MONDAY = date(2026, 11, 30)

# Kind: settings that fit the bench, and what is then changed in the form.
FORMS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "spacing": ({}, {"gap_days": 3, "course": "salad", "from_history": False,
                     "one_cook_counts_once": True}),
    "weekly_cap": ({}, {"days": 1}),
    "hero_daily": ({}, {"dishes": 1}),
    "hero_weekly": ({}, {"showings": 4}),
    "weeks_since": ({}, {"weeks": 1}),
    "unseen_share": ({}, {"weeks": 3, "share_pct": 10}),
    "new_dishes_cap": ({}, {"dishes": 4}),
    "cuisine_cap": ({}, {"dishes": 1}),
    "cuisines_daily": ({"cuisines": 2}, {"cuisines": 1}),
    "method_cap": ({}, {"method": "simmered", "dishes": 1}),
    "methods_daily": ({"methods": 2}, {"methods": 1}),
    "texture_daily": ({"texture": "crisp"}, {"course": "salad"}),
    "not_together": ({"a": "soup", "b": "quinoa_salad"}, {"b": "tofu_salad"}),
    "together": ({"dish": "soup", "needs": "quinoa_salad"}, {"needs": "tofu_salad"}),
    "colours_daily": ({"colours": 2}, {"colours": 3}),
    "main_colour_cap": ({}, {"dishes": 1, "course": None}),
    "dish_colours": ({"colours": 2}, {"price_cents": 50.0}),
    "neighbours": ({}, {"course": "main"}),
    "veg_groups_daily": ({"groups": 1}, {"groups": 2}),
    "protein_dishes": ({"protein_g": 5.0}, {"protein_g": 4.5, "course": "salad"}),
    "plate_protein": ({"worst_g": 1.0}, {"average_g": 2.5, "worst_g": None}),
    "amino_score": ({"acids": ("lys",)}, {"score": 0.55, "pattern": "who_2007_adult"}),
    "plate_salt": ({}, {"most_g": 2.5}),
    "plate_fibre": ({}, {"least_g": 3.0}),
    "free_of": ({"allergen": "almond"}, {"allergen": "sesame"}),
    "diet_plate": ({"diets": ("vegan",)}, {"diets": ("nut_free", "vegan")}),
    "portion_cost_cap": ({"cap_cents": 500}, {"cap_cents": 425}),
    "food_cost_pct": ({}, {"pct": 45.0, "by": "day"}),
    "purchase_budget": ({"budget_cents": 90_000}, {"budget_cents": 123_456}),
    "plate_cost_cap": ({"most_cents": 2000}, {"most_cents": 1850, "plate": "dearest"}),
    "portion_margin": ({"least_cents": 10}, {"least_cents": 25}),
    "delivery_budget": ({"budget_cents": 90_000}, {"supplier": "van"}),
    "use_up": ({"item": "squash"}, {"lot": "stock-2", "share_pct": 80.0, "item": "*",
                                    "use_by": date(2026, 12, 3), "within_days": 5}),
    "finish_opened": ({}, {"rest_g": 75.0}),
    "opened_over_closed": ({}, {"things": 2}),
    "recipe_stretch": ({}, {"pct": 12.5}),
    "par_level": ({"item": "quinoa", "par_g": 100.0}, {"par_g": 250.0}),
    "fridge_litres": ({"litres": 700.0}, {"litres": 650.0, "l_per_kg": 1.4}),
    "station_minutes": ({"station": "oven"}, {"share_pct": 90.0, "station": "hands_on"}),
    "even_load": ({"station": "oven", "most_min": 100.0}, {"most_min": 110.0}),
    "oven_settings": ({"settings": 1}, {"settings": 2, "within_c": 5.0}),
    "cooks_daily": ({"cooks": 5}, {"cooks": 4}),
    "closed_day_life": ({"spare_days": 1}, {"spare_days": 2}),
    "in_season": ({}, {"scope": "main"}),
    "pin": ({"dish": "soup", "day": "mon"}, {"day": MONDAY, "dish": "roast"}),
    "bar": ({"dish": "soup"}, {"day": "tue"}),
    "signature": ({"dish": "soup", "days": ("mon",)}, {"days": ("mon", "tue")}),
    "keep_day": ({"day": MONDAY, "dishes": ("soup",)},
                 {"day": date(2026, 12, 1), "dishes": ("roast", "tofu_salad")}),
}  # fmt: skip


def rule_of(kind: str, **changes: Any) -> Rule:
    return parse_rule({"kind": kind, **FORMS[kind][0], **changes})


def full(document: Document) -> Document:
    """The bench with all that some rules ask of the tables: labels read, salt, fibre, groups."""
    items = rows_of(document, "ingredients.csv")
    groups = {"spinach": "dark_green", "squash": "orange"}
    for row in items:
        more = {"sodium_mg": "50", "fibre_g": "4", "veg_group": groups.get(row["ingredient"], "")}
        row.update({**more, "allergens": row["allergens"] or "none"})
    dishes = rows_of(document, "dishes.csv")
    for row in dishes:
        if row["dish"] == "tofu_salad":
            row.update({"cuisine": "greek", "method": "steamed"})
    lines = rows_of(document, "recipe_lines.csv")
    lines[1]["flexible"] = "yes"
    document = with_rows(document, "ingredients.csv", items)
    document = with_rows(document, "dishes.csv", dishes)
    return with_rows(document, "recipe_lines.csv", lines)


def keep(place: Path, *rules: Rule, fill: bool = True) -> None:
    """A new head of the store with these rules."""
    with Store.open(place) as store:
        head = store.head()
        assert head is not None
        document = store.document(head.id)
        document = with_rules(full(document) if fill else document, rules, [])
        store.save(document, "Ada", "rules for a test", head.id)


def saved(place: Path) -> tuple[Rule, ...]:
    with Store.open(place) as store:
        return store.read().rules


def plan_it(place: Path) -> tuple[Plan, Week]:
    """Plan the week of the head, and keep the plan."""
    with Store.open(place) as store:
        held = store.held()
        week = week_of(held.reading.cafe, held.reading.rules, TODAY)
        plan = plan_week(week, Effort(work=1)).plan
        assert plan is not None and held.revision is not None
        store.add_plan(plan, held.revision, "Ada")
    return plan, same_days(plan, week)


def well(test: AppTest) -> AppTest:
    assert [one.value for one in test.exception] == []
    return test


def line(test: AppTest, rule: Rule, week: Week) -> Any:
    """The button that is a rule's line."""
    words = plain_markdown(said(rule, week.cafe))
    found = [one for one in test.button if str(one.key).startswith("rule_line_")]
    return next(one for one in found if words in one.label)


def field(test: AppTest, name: str) -> Any:
    """The widget of one parameter in the form that is open."""
    kinds = (test.number_input, test.selectbox, test.multiselect, test.checkbox, test.date_input,
             test.radio)  # fmt: skip
    found = [
        one
        for widgets in kinds
        for one in widgets
        if re.match(r"rule\d|new\d", str(one.key)) and one.key.endswith(f"_{name}")
    ]
    assert found, name
    return min(found, key=lambda one: len(one.key))


def shown(name: str, value: Any) -> Any:
    """A value as a person types it: money in dollars, lists as lists."""
    if name.endswith("_cents") and value is not None:
        return value / 100
    return list(value) if isinstance(value, tuple) else "" if value is None else value


def type_in(test: AppTest, changes: dict[str, Any]) -> None:
    for name, value in changes.items():
        if name != "price_cents":
            widget = field(test, name)
            numeric = widget.type == "number_input"
            widget.set_value(None if numeric and value is None else shown(name, value))
    well(test.run())


def test_every_kind_of_rule_has_its_case() -> None:
    kinds = {str(rule.model_fields["kind"].default) for rule in RULE_CLASSES}
    assert set(FORMS) == kinds and len(KINDS) == len(kinds) == 48


@pytest.mark.parametrize("kind", FORMS)
def test_a_form_says_the_rule_and_what_is_typed_is_saved(
    kind: str, page_store: Path, open_page: Open
) -> None:
    before, changes = rule_of(kind), FORMS[kind][1]
    keep(page_store, before)
    test = well(open_page("rules"))
    with Store.open(page_store) as store:
        week = week_of(store.read().cafe, (), TODAY)
    well(line(test, before, week).click().run())
    for name in type(before).model_fields:
        if name not in ("kind", "price_cents"):
            value = getattr(before, name)
            widget = field(test, name)
            numeric = widget.type in ("number_input", "date_input")
            assert widget.value == (None if value is None and numeric else shown(name, value))
    assert field(test, "hardness").value == HARD
    type_in(test, changes)
    field(test, "hardness").set_value(PRICED)
    well(test.run())
    field(test, "price_cents").set_value(0.005 if kind == "use_up" else 2.5)
    well(test.run())
    assert test.error == [] or all("breaks" in one.value for one in test.error)
    well(test.button(key="save_rules").click().run())
    price = 0.5 if kind == "use_up" else 250.0
    settings = {**FORMS[kind][0], **changes, "price_cents": price}
    assert saved(page_store) == (parse_rule({"kind": kind, **settings}),)
    assert not [one for one in test.button if one.key == "save_rules"]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_the_catalogue_draws_an_empty_form(
    kind: str, page_store: Path, open_page: Open
) -> None:
    test = open_page("rules")
    test.button(key="add_rule").click().run()
    well(test.selectbox(key="new_kind").set_value(kind).run())
    for name in KINDS[kind].model_fields:
        if name not in ("kind", "price_cents"):
            assert field(test, name).label
    required = any(about.is_required() for about in KINDS[kind].model_fields.values())
    assert test.button(key="add_new").disabled or not required


# -- what the present week says -------------------------------------------------------


def told(test: AppTest) -> str:
    """The box that says whether the week holds."""
    boxes = [*test.success, *test.error]
    return boxes[0].value.replace("\\", "")


def test_the_page_opens_and_says_what_the_rules_say(page_store: Path, open_page: Open) -> None:
    priced = rule_of("colours_daily", colours=3, price_cents=150.0)
    season = rule_of("in_season", price_cents=70.0)
    keep(page_store, priced, season, rule_of("weekly_cap"), rule_of("bar", dish="roast"))
    plan, week = plan_it(page_store)
    answers = ask_rules(plan, week)
    assert answers.price_cents > 0  # else there would be nothing to show
    test = well(open_page("rules"))
    hard = sum(rule.price_cents is None for rule in week.rules)
    assert f"all {hard} hard ones" in told(test)
    assert told(test).endswith(f"cost {money_text(answers.price_cents, week.cafe.currency)}.")
    for rule in week.rules:
        alone = ask_rules(plan, replace(week, rules=(rule,)))
        label = line(test, rule, week).label.replace("\\", "")
        if alone.price_cents:
            assert f"**{money_text(alone.price_cents, week.cafe.currency)}:**" in label
        else:
            assert label.startswith("✓")
    assert {one.value for one in test.markdown} >= {"## Colour", "## Pins", "## Variety"}


def new_bar(test: AppTest, dish: str) -> None:
    """Choose the rule that keeps a dish out, and name the dish."""
    test.button(key="add_rule").click().run()
    test.selectbox(key="new_kind").set_value("Pins: Dish kept out").run()
    field(test, "dish").set_value(dish)
    well(test.run())


def test_a_change_shows_at_once_what_breaks_where_and_by_how_much(
    page_store: Path, open_page: Open
) -> None:
    keep(page_store)
    plan, week = plan_it(page_store)
    rule = rule_of("bar", dish=plan.shown[0].dish)
    broken = rule.check(plan, week.cafe)
    assert broken and broken[0].day is not None
    test = open_page("rules")
    new_bar(test, plan.shown[0].dish)
    captions = " ".join(one.value.replace("\\", "") for one in test.caption)
    assert f"breaks it, by {len(broken)} × showing: {broken[0].text}" in captions
    test.button(key="add_new").click().run()
    assert told(test).startswith("✗ The present week breaks 1 of these rules.")
    assert broken[0].text in told(test)
    found = " ".join(one.proto.body for one in test.get("html"))
    assert f"By {len(broken)} × showing" in found
    assert all(breach.text in found for breach in broken)
    assert saved(page_store) == ()  # only shown so far
    test.button(key="rule_line_0").click().run()
    other = next(one for one in ("soup", "roast") if one not in {row.dish for row in plan.shown})
    field(test, "dish").set_value(other).run()
    assert told(test).startswith("✓ The present week keeps these rules")


def test_a_price_shows_what_the_week_pays(page_store: Path, open_page: Open) -> None:
    keep(page_store)
    plan, week = plan_it(page_store)
    test = open_page("rules")
    new_bar(test, plan.shown[0].dish)
    field(test, "hardness").set_value(PRICED).run()
    field(test, "price_cents").set_value(1.25).run()
    priced = rule_of("bar", dish=plan.shown[0].dish, price_cents=125.0)
    cost = ask_rules(plan, replace(week, rules=(priced,))).price_cents
    said_cost = money_text(cost, week.cafe.currency)
    assert any(f"breaks it for {said_cost}" in one.value.replace("\\", "") for one in test.caption)
    test.button(key="add_new").click().run()
    assert f"cost {said_cost} ({money_text(0, week.cafe.currency)} under" in told(test)
    well(test.button(key="save_rules").click().run())
    assert saved(page_store) == (priced,)


def test_without_a_plan_the_page_says_so(page_store: Path, open_page: Open) -> None:
    test = well(open_page("rules"))
    assert any("no plan of this week yet" in one.value for one in test.info)
    (bar,) = saved(page_store)
    assert bar.kind == "bar"


# -- faults, off, out, undo -------------------------------------------------------------


def test_a_fault_is_shown_in_place_and_nothing_is_saved(page_store: Path, open_page: Open) -> None:
    rule = rule_of("colours_daily")
    keep(page_store, rule)
    test = open_page("rules")
    with Store.open(page_store) as store:
        week = week_of(store.read().cafe, (), TODAY)
    line(test, rule, week).click().run()
    field(test, "colours").set_value(9).run()
    (fault,) = rule.model_copy(update={"colours": 9}).faults(week.cafe)
    assert [one.value.replace("\\", "") for one in test.error] == [fault]
    assert test.button(key="save_rules").disabled
    field(test, "colours").set_value(None).run()
    assert any("must be a valid integer" in one.value for one in test.error)
    assert test.button(key="save_rules").disabled
    field(test, "colours").set_value(1).run()
    assert list(test.error) == [] and not test.button(key="save_rules").disabled


def test_off_on_out_and_undo(page_store: Path, open_page: Open) -> None:
    one, two = rule_of("weekly_cap"), rule_of("bar", dish="roast")
    keep(page_store, one, two)
    test = open_page("rules")
    test.button(key="rule_line_0").click().run()
    test.button(key="switch_rule").click().run()
    assert "*Off:*" in test.button(key="rule_line_0").label
    test.button(key="save_rules").click().run()
    with Store.open(page_store) as store:
        reading = store.read()
    assert (reading.rules, reading.rules_off) == ((two,), (one,))
    test.button(key="rule_line_1").click().run()
    test.button(key="switch_rule").click().run()
    test.button(key="rule_line_0").click().run()
    test.button(key="remove_rule").click().run()
    assert any("Taken out" in mark.value for mark in test.markdown)
    well(test.button(key="save_rules").click().run())
    assert saved(page_store) == (one,)
    well(test.button(key="step_Undo").click().run())
    assert saved(page_store) == (two,)
    well(test.button(key="step_Undo").click().run())
    assert saved(page_store) == (one, two)


def test_a_draft_can_be_dropped_and_outlives_other_saves(page_store: Path, open_page: Open) -> None:
    keep(page_store, rule_of("weekly_cap"))
    test = open_page("rules")
    test.button(key="rule_line_0").click().run()
    field(test, "days").set_value(1).run()
    with Store.open(page_store) as store:  # somebody counts the stock meanwhile
        head = store.head()
        assert head is not None
        document = store.document(head.id)
        rows = rows_of(document, "stock.csv")
        rows[0]["qty"] = "2"
        store.save(with_rows(document, "stock.csv", rows), "Ben", "counted", head.id)
    well(test.run())
    test.button(key="save_rules").click().run()
    assert saved(page_store) == (rule_of("weekly_cap", days=1),)
    with Store.open(page_store) as store:
        assert store.read().cafe.stock[0].qty == 2
    field_open = [one for one in test.button if one.key == "close_rule"]
    assert field_open == []
    test.button(key="rule_line_0").click().run()
    field(test, "days").set_value(3).run()
    well(test.button(key="discard_rules").click().run())
    assert not [one for one in test.button if one.key == "save_rules"]
    test.button(key="rule_line_0").click().run()
    assert field(test, "days").value == 1


def test_somebody_elses_rules_are_not_overwritten(page_store: Path, open_page: Open) -> None:
    keep(page_store, rule_of("weekly_cap"))
    test = open_page("rules")
    test.button(key="rule_line_0").click().run()
    field(test, "days").set_value(1).run()
    keep(page_store, rule_of("weekly_cap", days=5), fill=False)
    well(test.run())
    assert any("saved by somebody else" in one.value for one in test.warning)
    well(test.button(key="save_rules").click().run())
    assert saved(page_store) == (rule_of("weekly_cap", days=5),)
    assert any("Not saved yet" in one.value for one in test.warning)


def test_a_rule_from_the_settings_becomes_one_of_its_own(page_store: Path, open_page: Open) -> None:
    keep(page_store)
    test = open_page("rules")
    implied = [one for one in test.button if str(one.key).startswith("rule_line_station_minutes")]
    assert len(implied) == 2 and all("from Settings" in one.label for one in implied)
    next(one for one in implied if "oven" in one.label).click().run()
    assert not [one for one in test.button if one.key == "save_rules"]
    field(test, "share_pct").set_value(80.0).run()
    well(test.button(key="save_rules").click().run())
    assert saved(page_store) == (rule_of("station_minutes", station="oven", share_pct=80.0),)


# -- what cannot hold --------------------------------------------------------------------


@pytest.fixture
def _no_jobs_left(page_store: Path) -> Iterator[None]:
    yield
    job = conflict_job(str(page_store))
    if job is not None:
        job.wait(60)
    jobs.forget(conflict_key(str(page_store)))


def answered(test: AppTest, place: Path) -> AppTest:
    test.button(key="ask_conflict").click().run()
    job = conflict_job(str(place))
    assert job is not None and job.wait(60)
    return well(test.run())


@pytest.mark.usefixtures("_no_jobs_left")
def test_an_impossible_set_names_its_rules_and_a_repair_mends_it(
    page_store: Path, open_page: Open
) -> None:
    pin = rule_of("pin", dish="soup", day="mon")
    out = rule_of("station_minutes", station="oven", share_pct=10.0)
    keep(page_store, rule_of("weekly_cap"), pin, out)
    test = answered(open_page("rules"), page_store)
    with Store.open(page_store) as store:
        week = week_of(store.read().cafe, store.read().rules, TODAY)
    found = conflict(week)
    assert found.holds is False and found.repairs
    text = " ".join(one.value for one in [*test.error, *test.markdown]).replace("\\", "")
    for part in found.rules:
        assert part.title in text and part.sentence in text
    buttons = [one for one in test.button if str(one.key).startswith("repair_")]
    sentences = [one.label.replace("\\", "") for one in buttons]
    first = next(one for one in found.repairs if one.sentence() == sentences[0])
    money = f"makes {money_text(first.plan.objective_cents, first.plan.currency)}. "
    assert any(money in one.value.replace("\\", "") for one in test.caption)
    well(buttons[0].click().run())
    assert saved(page_store) == (rule_of("weekly_cap"), pin, out)  # in the draft only
    well(test.button(key="save_rules").click().run())
    assert saved(page_store) != (rule_of("weekly_cap"), pin, out)
    with Store.open(page_store) as store:
        reading = store.read()
    assert conflict(week_of(reading.cafe, reading.rules, TODAY)).holds is True


@pytest.mark.usefixtures("_no_jobs_left")
def test_rules_that_can_hold_are_said_to(page_store: Path, open_page: Open) -> None:
    test = answered(open_page("rules"), page_store)
    assert any("The rules can hold together" in one.value for one in test.success)
    test.button(key="rule_line_0").click().run()
    test.button(key="switch_rule").click().run()
    assert any("have changed since" in one.value for one in test.caption)


def test_every_topic_of_the_catalogue_is_offered() -> None:
    assert {name.split(":")[0] for name in KINDS} == set(TOPICS)


def test_rules_are_loosened_to_what_the_present_week_has(page_store: Path, open_page: Open) -> None:
    keep(page_store)
    plan, week = plan_it(page_store)
    asked = rule_of("protein_dishes", protein_g=4.0, course="salad")
    barred = rule_of("bar", dish=plan.shown[0].dish)
    keep(page_store, asked, barred, fill=False)
    test = open_page("rules")
    assert told(test).startswith("✗ The present week breaks")
    well(test.button(key="loosen_to_present").click().run())
    assert told(test).startswith("✓ The present week keeps these rules")
    well(test.button(key="save_rules").click().run())
    assert barred not in saved(page_store)
    assert not ask_rules(plan, replace(week, rules=saved(page_store))).broken


@pytest.mark.usefixtures("_no_jobs_left")
def test_a_search_that_ran_out_of_time_says_so_and_may_take_longer(
    page_store: Path, open_page: Open
) -> None:
    keep(page_store, rule_of("pin", dish="soup", day="mon"))
    with Store.open(page_store) as store:
        reading = store.read()
    week = week_of(reading.cafe, reading.rules, TODAY)
    start_conflict(str(page_store), week, 0.01)
    job = conflict_job(str(page_store))
    assert job is not None and job.wait(30)
    test = well(open_page("rules"))
    assert any("The search ended before it was known" in one.value for one in test.error)
    assert not [one for one in test.success if "can hold" in one.value]
    well(test.button(key="ask_longer").click().run())
    again = conflict_job(str(page_store))
    assert again is not None and again is not job and again.wait(30)
