"""The order of the dishes in the cabinet: as few neighbours alike as can be, told to all."""

from __future__ import annotations

import io
import json
from itertools import combinations, pairwise, permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from optimiser import nutrition, reports
from optimiser.cafe import Cafe, Course
from optimiser.display_order import display_order, placed
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.plan import Plan, read_plan
from optimiser.planner import plan_week
from optimiser.rules import parse_rule
from optimiser.rules.display import Neighbours
from optimiser.search import Effort
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from optimiser.week_board import print_week
from tests import board_weeks
from tests.board_weeks import MON, fixed
from tests.small_cafe import FRI, line

COLOURS = (None, "green", "red", "white")


def pairs_alike(colours: list[str | None]) -> int:
    """Neighbours of one colour, counted along the row."""
    return sum(a is not None and a == b for a, b in pairwise(colours))


def pairs_in_order(colours: tuple[str | None, ...], before: str | None = None) -> int:
    order = display_order(colours, before)
    assert sorted(order) == list(range(len(colours)))
    return pairs_alike([colours[n] for n in order])


@pytest.mark.parametrize("n", range(8))
def test_no_order_of_up_to_seven_dishes_has_fewer_pairs_alike(n: int):
    """Every row of n dishes of three colours or none, up to its order."""
    for colours in {tuple(sorted(row, key=str)) for row in product(COLOURS, repeat=n)}:
        fewest = min(pairs_alike(list(row)) for row in set(permutations(colours)))
        most = max((colours.count(c) for c in COLOURS if c), default=0)
        assert fewest == max(0, 2 * most - n - 1), colours
        for before in COLOURS:
            assert pairs_in_order(colours, before) == fewest, (colours, before)


@pytest.mark.parametrize("n", range(1, 7))
def test_a_row_starts_unlike_the_end_of_the_last_where_that_costs_nothing(n: int):
    for colours in product(COLOURS, repeat=n):
        fewest = pairs_in_order(colours)
        orders = [row for row in set(permutations(colours)) if pairs_alike(list(row)) == fewest]
        free = any(row[0] != "green" for row in orders)
        first = colours[display_order(colours, "green")[0]]
        assert (first != "green") == free, colours


@given(st.lists(st.sampled_from([*COLOURS, "brown", "orange"]), max_size=40))
def test_long_rows_reach_the_least_too(colours: list[str | None]):
    most = max((colours.count(c) for c in set(colours) - {None}), default=0)
    assert pairs_in_order(tuple(colours)) == max(0, 2 * most - len(colours) - 1)


def test_three_green_and_two_others_take_turns():
    assert display_order(["green", "green", "green", "red", "white"]) == [0, 3, 1, 4, 2]
    assert display_order(["green", "green", "green", "red", None], "green") == [0, 3, 1, 4, 2]
    assert display_order(["green", "red", "green", "red"], "green") == [1, 0, 3, 2]
    assert display_order([None, None]) == [0, 1]


# -- in the model, the plan and the reports -------------------------------


def long_rows(salads: int) -> Cafe:
    """The cafe of `board_weeks` on one day: two mains, `salads` of three green ones, one
    white and one orange."""
    this = board_weeks.cafe()
    salad = this.dishes["kale_salad"]
    more = [
        salad.model_copy(update={"id": id, "name": id.capitalize(), "lines": (line(item, 60),)})
        for id, item in (("chips", "kale"), ("slaw", "kale"), ("squash_salad", "squash"))
    ]
    courses = {
        "main": this.courses["main"].model_copy(update={"slots": 2}),
        "salad": Course(slots=salads, price_cents=700, take_up=2.0, portion_g=100),
    }
    dishes = this.dishes | {dish.id: dish for dish in more}
    return this.model_copy(update={"courses": courses, "dishes": dishes, "plate": {}})


def solved(this: Cafe, salads: tuple[str, ...], price_cents: float | None) -> tuple[Plan, float]:
    """Monday with these salads; the plan and the breach in the model. StopIteration: none."""
    rule = parse_rule({"kind": "neighbours", "course": "salad", "price_cents": price_cents})
    model = Model(Week(this, (rule,), MON, FRI, 1))
    first = {run.dish: run for run in reversed(model.runs)}
    board = tuple(first[dish] for dish in (*salads, "stew", "bake"))
    solver = Solver(model.lp)
    solver.restrict(fixed(model, board))
    found = solver.solve(Limits(gap_cents=0.01))
    if found.values is None:
        assert found.infeasible
        raise StopIteration
    plan = finished(model, found.values, found.bound)
    assert verify(plan, model.week).breaches == ()
    return plan, sum(found.values[j] for j, _ in model.breach_cents)


@pytest.mark.parametrize("places", [2, 3, 4, 5])
def test_model_and_check_count_the_pairs_of_the_best_order_of_every_board(places: int):
    this = long_rows(places)
    kept = broken = 0
    book = [dish.id for dish in this.dishes.values() if dish.course == "salad"]
    for salads in combinations(book, places):
        colours = [nutrition.main_colour(this, dish) for dish in salads]
        fewest = min(pairs_alike(list(row)) for row in permutations(colours))
        plan, by_rows = solved(this, salads, 1000.0)
        rule = parse_rule({"kind": "neighbours", "course": "salad"})
        assert by_rows == pytest.approx(fewest)
        assert sum(breach.amount for breach in rule.check(plan, this)) == fewest
        if fewest:
            broken += 1
            with pytest.raises(StopIteration):
                solved(this, salads, None)
        else:
            kept += 1
            solved(this, salads, None)
    assert (kept, broken) == {2: (7, 3), 3: (9, 1), 4: (3, 2), 5: (1, 0)}[places]


def planned(this: Cafe) -> Plan:
    outcome = plan_week(Week(this, (), MON, FRI, 3), Effort(seconds=20, work=1))
    assert outcome.rejected == () and outcome.plan is not None
    return outcome.plan


def test_a_planned_week_has_places_which_the_reports_follow(tmp_path):
    this = long_rows(4)
    plan = planned(this)
    assert list(plan.shown) == placed(this, plan.shown)
    for day in board_weeks.DAYS:
        rows = [row for row in plan.shown if (row.date, row.course) == (day, "salad")]
        assert [row.place for row in rows] == [1, 2, 3, 4]
        colours = [nutrition.main_colour(this, row.dish) for row in rows]
        assert pairs_alike(colours) == max(0, 2 * colours.count("green") - 5)
    (tmp_path / "plan.json").write_text(plan.to_json(), encoding="utf-8")
    assert read_plan(tmp_path / "plan.json") == plan


def turned(plan: Plan) -> Plan:
    """The same week with every row from right to left, its rows mixed up."""
    length = {(row.date, row.course): 0 for row in plan.shown}
    for row in plan.shown:
        length[row.date, row.course] += 1
    shown = [
        row.model_copy(update={"place": length[row.date, row.course] + 1 - row.place})
        for row in plan.shown
    ]
    return plan.model_copy(update={"shown": tuple(sorted(shown, key=lambda row: row.dish))})


def test_week_table_and_board_list_dishes_by_their_places():
    this = long_rows(4)
    plan = turned(planned(this))
    assert verify(plan, Week(this, (), MON, FRI, 3)).breaches == ()
    rows = reports.week_rows(plan, this)
    monday = [row for row in rows if (row["date"], row["course"]) == (MON, "salad")]
    assert [row["place"] for row in monday] == [1, 2, 3, 4]
    assert [row["date"] for row in rows] == sorted(row["date"] for row in rows)
    names = [str(row["name"]) for row in monday]
    console = Console(file=io.StringIO(), width=120, record=True)
    print_week(console, plan, this)
    text = console.export_text()
    board = [line[:40] for line in text.splitlines()]  # Monday's column
    at = [next(n for n, cells in enumerate(board) if f"x {name} [" in cells) for name in names]
    assert at == sorted(at)


def test_an_earlier_plan_without_places_is_a_start_but_no_verified_plan(tmp_path):
    this = long_rows(3)
    week = Week(this, (), MON, FRI, 3)
    plan = planned(this)
    path = tmp_path / "plan.json"
    body = json.loads(plan.to_json())
    for row in body["shown"]:
        del row["place"]
    path.write_text(json.dumps(body), encoding="utf-8")
    old = read_plan(path)
    assert {row.place for row in old.shown} == {0}
    assert any("have the places 0, 0, 0" in b.text for b in verify(old, week).breaches)
    again = plan_week(week, Effort(seconds=20, work=1), earlier=old)
    assert again.rejected == () and again.plan is not None
    assert again.plan.objective_cents >= plan.objective_cents


# -- the rule -------------------------------------------------------------


def test_the_rule_judges_the_order_of_the_plan_not_the_best_one():
    """Green, white, green, orange from the left is kept; with two places changed it is not."""
    this = long_rows(4)
    plan, _ = solved(this, ("kale_salad", "rice_salad", "slaw", "squash_salad"), None)
    rule = Neighbours(course="salad")
    assert rule.check(plan, this) == []
    dishes = [row.dish for row in plan.shown if row.course == "salad"]
    greens = {"kale_salad", "slaw"}
    others = [row for row in dishes if row not in greens]
    by_place = {dish: n for n, dish in enumerate([*sorted(greens), *others], 1)}
    shown = [row.model_copy(update={"place": by_place.get(row.dish, row.place)})
             for row in plan.shown]  # fmt: skip
    worse = plan.model_copy(update={"shown": tuple(shown)})
    (breach,) = rule.check(worse, this)
    assert (breach.amount, breach.day) == (1, MON)
    assert "2 of 4 salad dishes are mainly green" in breach.text
    assert rule.concede(worse, this, [breach]) == [
        ("let 1 pair of salad dishes side by side look alike", MON)
    ]


def test_a_row_that_cannot_be_kept_apart_with_these_recipes_is_a_fault():
    assert Neighbours().faults(long_rows(4)) == []
    this = long_rows(4)
    green = {id: dish for id, dish in this.dishes.items() if id != "squash_salad"}
    (fault,) = Neighbours().faults(this.model_copy(update={"dishes": green}))
    assert "3 of 4 salad dishes are mainly green" in fault and "fewer slots" in fault
