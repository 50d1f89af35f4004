"""The arithmetic of the benchmark of questions, and what it asks."""

from __future__ import annotations

import pytest

from optimiser.nearby import Nearby
from tests.benchmarks import bench_questions as bench
from tests.benchmarks.measure import named_week
from tests.small_cafe import small_plan, small_week


def timed(name: str, first: tuple[float, ...], again: tuple[float, ...], aim: float | None = None):
    return bench.Timed(name, first, again, aim, "a note")


def test_rows_are_medians_with_the_ratio_to_the_first_row():
    table = [timed("base", (2.0, 1.0, 9.0), (0.5,)), timed("x", (6.0, 4.0, 5.0), (), 4.0)]
    assert bench.rows(table) == [
        ("base", "-", "2.00 s", "0.50 s", "1.0", "-", "a note"),
        ("x", "4 s", "5.00 s", "-", "2.5", "no", "a note"),
    ]


def test_an_aim_is_met_up_to_its_last_moment():
    base = timed("base", (1.0,), ())
    met = {aim: bench.rows([base, timed("x", (4.0,), (), aim)])[1][5] for aim in (3.9, 4.0)}
    assert met == {3.9: "no", 4.0: "yes"}


def test_a_question_is_asked_of_nothing_and_again_of_what_was_built(
    monkeypatch: pytest.MonkeyPatch,
):
    clock = iter((0.0, 5.0, 7.0, 8.0))
    monkeypatch.setattr(bench.time, "monotonic", lambda: next(clock))
    asked: list[bool] = []

    def ask(near: Nearby | None) -> str:
        asked.append(near is not None)
        return f"answer {len(asked)}"

    found = bench.measure(bench.Question("x", ask, 1.0), small_week(rules=()), small_plan(), 1)
    assert asked == [False, True, True]
    assert (found.first_s, found.again_s, found.note) == ((5.0,), (1.0,), "answer 1")


def test_the_dish_asked_about_is_neither_shown_nor_barred():
    week = named_week("sample")
    plan = small_plan()
    dish = bench.absent_dish(week, plan)
    bars = {rule.dish for rule in week.rules if rule.kind == "bar"}
    assert week.cafe.dishes[dish].course in week.cafe.courses and bars
    shown = plan.shown[0].model_copy(update={"dish": dish})
    assert bench.absent_dish(week, plan.model_copy(update={"shown": (shown,)})) not in {dish, *bars}
