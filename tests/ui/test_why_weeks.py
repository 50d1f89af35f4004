"""The why page: other good weeks side by side, and taking one."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser import question_jobs
from optimiser.good_weeks import good_weeks
from optimiser.plan_diff import plan_diff
from optimiser.store import Store
from optimiser.ui.money_words import gain_words
from tests.ui.test_prices_page import Opens, ask, asked_of, fine, text_of
from tests.ui.test_why_page import part, press


@pytest.fixture(autouse=True)
def _nothing_known(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(question_jobs, "_answers", type(question_jobs._answers)())


def test_other_good_weeks_side_by_side_and_taking_one(
    planned_store: Path, open_page: Opens
) -> None:
    page = part(open_page("why"), "Other good weeks")
    fine(page.number_input(key="why_within").set_value(300))
    page = ask(page, planned_store, "Look for other good weeks")
    week, plan = asked_of(planned_store)
    found = good_weeks(week, plan, 30_000)
    assert found and plan_diff(found[0].plan, plan).fresh
    text = text_of(page)
    for number, one in enumerate(found, 1):
        words = gain_words(-one.short_cents, "AUD")
        assert f"Week {number} {words} against this one" in text
        for _, dish in plan_diff(one.plan, plan).fresh:
            assert f'<span class="sign">In</span><span>{week.cafe.name_of(dish)}' in text
    page = press(page, "Take week 1 instead")
    with Store.open(planned_store) as store:
        kept = store.latest_plans(week.start, 5)
    assert len(kept) == 2
    assert kept[0].plan.shown == found[0].plan.shown and kept[0].plan.verified
    assert "It is the week now" in text_of(page)
