"""Reports of the week planned by hand, row by row, and how they are written."""

from __future__ import annotations

import csv
import io
from datetime import date, time
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from optimiser import label_report, reports, week_board, write_out
from optimiser.board_words import sections
from optimiser.cafe import Cafe, Form, Step
from optimiser.colour_letters import letters
from optimiser.food_code import CODES
from optimiser.order_report import ORDER_COLUMNS
from optimiser.plan import Breach, Plan, read_plan
from optimiser.prep_report import prep_rows
from optimiser.report_base import Row, lot_lives, money_text
from optimiser.verify import ask_rules
from optimiser.week_report import plate_protein_g
from tests.small_cafe import (
    FARM_SQUASH,
    FRI,
    MON,
    THU,
    TUE,
    WED,
    ingredient,
    small_cafe,
    small_plan,
    small_week,
)

PLAN, CAFE = small_plan(), small_cafe()


def filled(row: Row, *columns: str) -> tuple[Any, ...]:
    """Cells of some columns."""
    return tuple(row[column] for column in columns)


def of_task(rows: list[Row], task: str) -> list[Row]:
    return [row for row in rows if row["task"] == task]


def cafe_with(**dishes: dict[str, Any]) -> Cafe:
    """The small cafe with other fields in some dishes."""
    changed = {
        name: dish.model_copy(update=dishes.get(name, {})) for name, dish in CAFE.dishes.items()
    }
    return small_cafe(dishes=changed)


def cafe_of(*ingredients: Any, **changes: Any) -> Cafe:
    """The small cafe with some ingredients replaced."""
    return small_cafe(ingredients=CAFE.ingredients | {i.id: i for i in ingredients}, **changes)


def read_labels() -> Cafe:
    """The cafe with every label read: sesame on the carrots, nothing else."""
    return cafe_of(
        ingredient("squash", Form.WHOLE, piece_g=1000, keeps_days=10, opened_keeps_days=3,
                   colour="orange", protein_g=1, allergens=frozenset()),
        ingredient("carrot", Form.LOOSE, keeps_days=4, colour="orange", protein_g=2,
                   allergens=frozenset({"sesame"})),
        ingredient("quinoa", Form.DRY, keeps_days=365, colour="white", protein_g=14,
                   allergens=frozenset()),
        plate={"main": 1, "salad": 1},
    )  # fmt: skip


# -- the rows of each report ----------------------------------------------


def test_the_week_lists_each_dish_of_each_day_with_its_colours_diets_and_protein() -> None:
    rows = reports.week_rows(PLAN, read_labels())
    assert rows[5] == {
        "date": WED,
        "weekday": "Wed",
        "course": "salad",
        "place": 1,
        "dish": "salad",
        "name": "Carrot salad",
        "portions": 4,
        "cooked_on": WED,
        "colours": "orange; white",
        "diets": "vegan ingredients; no gluten ingredients; no nut or peanut ingredients",
        "diets_unknown": "",
        "protein_g": 4.8,  # 100 g carrot at 2 %, 20 g dry quinoa at 14 %
        "protein_unknown": "",
    }
    assert [filled(row, "date", "dish", "portions") for row in rows[:3]] == [
        (MON, "roast", 8),
        (MON, "salad", 4),
        (TUE, "roast", 10),
    ]


def test_the_order_list_has_packs_fee_and_total_of_each_order_with_its_last_moment() -> None:
    columns = (
        "order_by",
        "cut_off",
        "deliver_on",
        "line",
        "ingredient",
        "packs",
        "pack",
        "dry",
        "cost",
    )
    farm, mill = (FRI, "14:00", MON), (TUE, None, WED)
    assert [filled(row, *columns) for row in reports.order_rows(PLAN, CAFE)] == [
        (*farm, "goods", "carrot", 2, "1 kg", "no", Decimal("4.00")),
        (*farm, "goods", "squash", 4, "1 each", "no", Decimal("16.00")),
        (*farm, "delivery fee", None, None, None, None, Decimal("5.00")),
        (*farm, "total", None, None, None, None, Decimal("25.00")),
        (*mill, "goods", "quinoa", 1, "1 kg", "yes", Decimal("10.00")),
        (*mill, "total", None, None, None, None, Decimal("10.00")),
    ]


def test_orders_come_in_the_order_in_which_they_have_to_be_placed() -> None:
    slow = CAFE.suppliers["mill"].model_copy(update={"lead_days": 7, "cut_off": time(9, 5)})
    cafe = small_cafe(suppliers=CAFE.suppliers | {"mill": slow})
    first, second = reports.orders(PLAN, cafe)
    assert (first.supplier.id, first.order_by, first.cut_off) == (
        "mill",
        date(2025, 12, 31),
        "09:05",
    )
    assert (second.supplier.id, second.total_cents) == ("farm", 2500)


def test_the_prep_sheet_scales_lines_to_the_cook_and_names_the_lots() -> None:
    rows = of_task(prep_rows(PLAN, CAFE), "weigh")
    columns = ("date", "dish", "portions", "item", "qty", "unit", "edible_g", "purchased_g", "lot")
    assert [filled(row, *columns) for row in rows if row["date"] == WED] == [
        (WED, "roast", 6, "squash", 960.0, "g", 960.0, 1200.0,
         f"opened-{MON}-{FARM_SQUASH} 400 g; opened-{WED}-{FARM_SQUASH} 800 g"),
        (WED, "salad", 4, "carrot", 400.0, "g", 400.0, 400.0, f"bought-{MON}-farm-carrot 400 g"),
        (WED, "salad", 4, "pot", 200.0, "g", 200.0, None, f"cooked-{MON}-pot 200 g"),
    ]  # fmt: skip


def test_the_prep_sheet_says_which_lot_to_cut_and_cooks_parts_first() -> None:
    rows = [row for row in prep_rows(PLAN, CAFE) if row["date"] == MON]
    assert [row["task"] for row in rows] == ["cook"] * 3 + ["open"] * 2 + ["weigh"] * 4
    assert [filled(row, "dish", "portions", "text") for row in rows[:3]] == [
        ("pot", 10, "For other dishes"),
        ("roast", 18, f"For Mon {MON}, Tue {TUE}"),
        ("salad", 8, f"For Mon {MON}, Tue {TUE}"),
    ]
    assert [filled(row, "item", "units", "lot", "lot_use_by") for row in rows[3:5]] == [
        ("squash", 2, FARM_SQUASH, date(2026, 1, 14)),
        ("squash", 2, "stock-2", WED),
    ]


def test_steps_stand_by_station_and_a_step_ahead_on_the_last_open_day_before() -> None:
    steps = (
        Step(number=1, text="Soak", minutes=5, station="hands_on", ahead_days=1),
        Step(number=2, text="Boil", minutes=20, station="hob"),
        Step(number=3, text="Cool", minutes=90, station="fridge"),
        Step(number=4, text="Taste", minutes=1, station="hands_on"),
    )
    cafe = cafe_with(pot={"steps": steps})
    rows = of_task(prep_rows(PLAN, cafe), "step")
    columns = ("date", "station", "text", "minutes_as_written", "portions", "cook_on")
    assert [filled(row, *columns) for row in rows] == [
        (date(2026, 1, 3), "hands_on", "Soak", 5, 10, MON),  # Sunday the 4th is closed
        (MON, "hands_on", "Taste", 1, 10, MON),
        (MON, "hob", "Boil", 20, 10, MON),
        (MON, "fridge", "Cool", 90, 10, MON),
    ]


def test_opened_pieces_and_cooked_food_say_until_when_they_are_good() -> None:
    rows = prep_rows(PLAN, CAFE)
    cut = {(row["date"], row["lot"]): row["then_use_by"] for row in of_task(rows, "open")}
    assert cut[MON, "stock-2"] == WED
    cooked = {(row["dish"], row["date"]): row["then_use_by"] for row in of_task(rows, "cook")}
    assert (cooked["pot", MON], cooked["salad", WED]) == (WED, WED)


def test_a_label_takes_the_date_of_the_oldest_part_that_carries_its_life() -> None:
    columns = ("dish", "cooked_on", "use_by")
    assert [filled(row, *columns) for row in reports.label_rows(PLAN, CAFE)] == [
        ("roast", MON, TUE),
        ("roast", WED, THU),
        ("salad", MON, TUE),
        ("salad", WED, WED),  # two days by itself, but Monday's quinoa ends on Wednesday
        ("pot", MON, WED),  # kept for other dishes: it needs a label too
    ]


def test_a_pieces_life_never_outlasts_the_lot_it_was_cut_from() -> None:
    lives = lot_lives(PLAN, CAFE)
    assert lives[f"opened-{MON}-stock-2"] == WED
    assert lives[f"opened-{MON}-{FARM_SQUASH}"] == WED
    assert lives[f"opened-{WED}-{FARM_SQUASH}"] == date(2026, 1, 9)
    assert (lives[f"cooked-{MON}-pot"], lives["stock-1"]) == (WED, date.max)


def test_a_label_names_each_allergen_with_what_it_comes_from_and_the_temperature() -> None:
    cafe = read_labels()
    hot = cafe.dishes["roast"].model_copy(update={"served_as": "hot"})
    cold = cafe.dishes["salad"].model_copy(update={"served_as": "cold"})
    cafe = cafe.model_copy(update={"dishes": cafe.dishes | {"roast": hot, "salad": cold}})
    rows = {str(row["dish"]): row for row in reports.label_rows(PLAN, cafe)}
    columns = ("contains", "labels_not_read", "vegan", "gluten", "nuts", "storage")
    free = ("", "vegan ingredients", "no gluten ingredients", "no nut or peanut ingredients")
    assert filled(rows["salad"], *columns) == ("sesame (carrot)", *free, CODES["au"].cold)
    kept = f"{CODES['au'].hot} {CODES['au'].keep}"
    assert filled(rows["roast"], *columns) == ("none named on the labels", *free, kept)
    assert rows["roast"]["caution"] == label_report.CHECK_LABELS


def test_allergens_nobody_has_read_are_unknown_and_never_free() -> None:
    for row in reports.label_rows(PLAN, CAFE):
        assert filled(row, "vegan", "gluten", "nuts") == ("unknown",) * 3
        assert row["labels_not_read"] and str(row["contains"]).startswith("unknown for ")
        assert str(row["caution"]).startswith("Allergens unknown")
    for row in reports.week_rows(PLAN, CAFE):
        assert filled(row, "diets", "diets_unknown") == ("", "vegan; gluten; nuts")
    text = reports.csv_text(*_labels(CAFE))
    assert "free" not in text and "no gluten" not in text and "none named" not in text


def test_a_label_gives_protein_salt_and_fibre_of_a_portion_as_far_as_they_are_known() -> None:
    columns = ("dish", "protein_g", "salt_g", "fibre_g")
    assert filled(reports.label_rows(PLAN, CAFE)[2], *columns[2:]) == ("unknown", "unknown")
    # a portion has 100 g of carrot and 20 g of quinoa: 2 + 2.8 g of protein, 697 mg of sodium
    cafe = cafe_of(
        CAFE.ingredients["carrot"].model_copy(
            update={"protein_g": 2.0, "sodium_mg": 696.0, "fibre_g": 2.87}
        ),
        CAFE.ingredients["quinoa"].model_copy(
            update={"protein_g": 14.0, "sodium_mg": 5.0, "fibre_g": None}
        ),
    )
    salad = reports.label_rows(PLAN, cafe)[2]
    assert filled(salad, *columns) == ("salad", 4.8, 1.74, "at least 2.8, rest unknown")


def test_what_is_known_of_a_half_read_label_is_said_beside_what_is_not() -> None:
    cafe = cafe_of(ingredient("carrot", Form.LOOSE, keeps_days=4, allergens=frozenset({"wheat"})))
    row = reports.label_rows(PLAN, cafe)[2]
    columns = ("dish", "contains", "vegan", "gluten", "nuts")
    assert filled(row, *columns) == (
        "salad", "wheat (carrot); unknown for quinoa", "unknown", "contains gluten", "unknown",
    )  # fmt: skip


def test_the_use_up_list_accounts_for_every_gram_of_every_stock_lot() -> None:
    columns = ("lot", "use_by", "days_left", "stock_g", "used_g", "left_g", "binned_g", "finished")
    rows = reports.use_up_rows(PLAN, CAFE)
    assert [filled(row, *columns) for row in rows] == [
        ("stock-3", date(2026, 1, 3), 0, 200, 0, 0, 200, "no"),
        ("stock-2", WED, 3, 2000, 2000, 0, 0, "yes"),
        ("stock-1", None, None, 1000, 400, 600, 0, "no"),
    ]
    assert rows[1]["used_for"] == f"Mon {MON} Roast squash 2000 g"
    for row in rows:
        assert row["stock_g"] == sum(filled(row, "used_g", "left_g", "binned_g"))


def test_the_cost_sheet_adds_up_and_gives_food_cost_in_percent() -> None:
    rows = reports.cost_rows(PLAN, CAFE)
    sums = {str(row["item"]): row["amount"] for row in rows if row["section"] == "week"}
    assert sums["margin"] == sum(sums[term] for term in PLAN.terms_cents) == Decimal("273.19")
    assert (sums["bound"], sums["gap"]) == (Decimal("275.00"), Decimal("1.81"))
    # 24 portions of 80 cents and 12 of 38: 2376 cents, 8.07 % of 29451
    food = next(row for row in rows if row["item"] == "food")
    assert filled(food, "amount", "food_cost_pct") == (Decimal("23.76"), 8.1)
    columns = ("item", "portions", "portion_cost", "portion_price", "food_cost_pct", "amount")
    assert [filled(row, *columns) for row in rows if row["section"] == "dish"] == [
        ("roast", 24, Decimal("0.80"), Decimal("10.00"), 8.0, Decimal("19.20")),
        ("salad", 12, Decimal("0.38"), Decimal("8.00"), 4.8, Decimal("4.56")),
    ]


def test_an_unproven_bound_is_blank() -> None:
    plan = PLAN.model_copy(update={"bound_cents": None})
    sums = {row["item"]: row["amount"] for row in reports.cost_rows(plan, CAFE)}
    assert (sums["bound"], sums["gap"]) == (None, None)


def test_the_takings_of_the_days_add_up_to_the_takings_of_the_week() -> None:
    found = reports.days(PLAN, CAFE)
    # Roast of Monday and Tuesday 15750 by 8 and 10 portions; salad 6221 by 4 and 4.
    assert [day.takings_cents for day in found] == [10110, 11861, 7480]
    assert sum(day.takings_cents for day in found) == PLAN.terms_cents["takings"]
    assert [day.covers for day in found] == [40, 40, 30]


def test_minutes_of_hands_count_each_cook_on_the_day_it_is_cooked() -> None:
    cafe = cafe_with(roast={"hands_on_min": 10, "hands_on_min_per_10": 5}, pot={"hands_on_min": 7})
    assert [day.hands_on_min for day in reports.days(PLAN, cafe)] == [26, 0, 13]


def test_a_plate_takes_the_mean_of_its_courses_and_at_worst_the_leanest_dishes() -> None:
    cafe = read_labels()
    roast_g, salad_g = 160 * 0.01, 100 * 0.02 + 20 * 0.14
    both = roast_g + salad_g
    assert plate_protein_g(PLAN, cafe, MON) == pytest.approx((both, both))
    extra = PLAN.shown[0].model_copy(update={"course": "salad", "portions": 1})
    plan = PLAN.model_copy(update={"shown": (*PLAN.shown, extra)})
    mean_g = roast_g + (salad_g + roast_g) / 2
    assert plate_protein_g(plan, cafe, MON) == pytest.approx((mean_g, 2 * roast_g))
    hungry = cafe.model_copy(update={"plate": {"main": 2}})
    assert plate_protein_g(PLAN, hungry, MON) == (None, None)


# -- CSV and files --------------------------------------------------------


def _labels(cafe: Cafe) -> tuple[tuple[str, ...], list[Row]]:
    return label_report.LABEL_COLUMNS, reports.label_rows(PLAN, cafe)


@pytest.mark.parametrize("report", reports.REPORTS, ids=lambda report: report.name)
def test_every_report_fills_exactly_its_columns_and_reads_back(report: reports.Report) -> None:
    rows = report.rows(PLAN, CAFE)
    assert rows and all(set(row) == set(report.columns) for row in rows)
    back = list(csv.DictReader(io.StringIO(reports.csv_text(report.columns, rows))))
    assert len(back) == len(rows)
    for row, cells in zip(rows, back, strict=True):
        assert cells == {k: "" if row[k] is None else str(row[k]) for k in report.columns}


def test_a_report_without_rows_still_has_its_header() -> None:
    plan = PLAN.model_copy(update={"buys": ()})
    text = reports.csv_text(ORDER_COLUMNS, reports.order_rows(plan, CAFE))
    assert text.startswith("order_by,cut_off,") and text.count("\n") == 1


@pytest.mark.parametrize("name", ["=1+1", "+61 3", "-x", "@here", "\tx", "\rx", "\n=x", "--5"])
def test_a_cell_that_a_spreadsheet_would_run_gets_an_apostrophe(name: str) -> None:
    cafe = cafe_with(roast={"name": name})
    rows = list(csv.DictReader(io.StringIO(reports.files(PLAN, cafe)["week.csv"], newline="")))
    assert rows[0]["name"] == "'" + name


@given(st.text(max_size=6))
def test_no_text_but_a_number_begins_like_a_formula(text: str) -> None:
    cell = str(reports.harmless(text))
    if cell[:1] in tuple("=+-@\t\r\n"):
        assert float(cell) == float(text)
    assert cell in (text, "'" + text)


def test_numbers_below_zero_stay_numbers() -> None:
    assert reports.harmless(-5) == -5
    assert reports.harmless("-5.25") == "-5.25"
    costs = list(csv.DictReader(io.StringIO(reports.files(PLAN, CAFE)["costs.csv"])))
    assert costs[1]["amount"] == "-30.00"


def test_files_are_written_with_the_plan_last_and_nothing_beside_them(tmp_path: Path) -> None:
    out = tmp_path / "new" / "week"
    for _ in range(2):  # the second time over the first
        write_out.write_out(out, reports.files(PLAN, CAFE))
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["week"]
    assert sorted(path.name for path in out.iterdir()) == sorted(reports.file_names())
    assert read_plan(out / "plan.json") == PLAN
    assert tuple(reports.files(PLAN, CAFE)) == reports.file_names()
    assert reports.file_names()[-1] == "plan.json"


def test_when_writing_fails_the_earlier_files_stay_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    write_out.write_out(out, {"week.csv": "old", "plan.json": "old"})

    def full(self: Path, text: str, **_: Any) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    with pytest.raises(OSError, match="No space left"):
        write_out.write_out(out, {"week.csv": "new", "plan.json": "new"})
    assert [(out / name).read_text() for name in ("week.csv", "plan.json")] == ["old", "old"]
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


# -- the board ------------------------------------------------------------


def board(plan: Plan, cafe: Cafe, width: int, **options: Any) -> str:
    """What the terminal shows, without colour."""
    out = io.StringIO()
    console = Console(file=out, width=width, color_system=None)
    week_board.print_week(console, plan, cafe, ask_rules(plan, small_week()).priced, **options)
    return out.getvalue()


@pytest.mark.parametrize("width", [40, 80, 200])
def test_the_board_fits_its_width_and_holds_every_dish(width: int) -> None:
    text = board(PLAN, read_labels(), width)
    assert max(len(line) for line in text.splitlines()) <= width
    for words in ("Mon 5 Jan", "Tue 6 Jan", "Wed 7 Jan", "8 x Roast", "$101.10"):
        assert words in text


def test_a_narrow_terminal_splits_the_days_into_blocks_of_about_equal_length() -> None:
    days = [date(2026, 1, day) for day in range(5, 11)]
    assert [len(block) for block in week_board.blocks(days, 80)] == [3, 3]
    assert [len(block) for block in week_board.blocks(days, 100)] == [3, 3]
    assert [len(block) for block in week_board.blocks(days, 140)] == [6]
    assert [len(block) for block in week_board.blocks(days, 20)] == [1] * 6
    assert [day for block in week_board.blocks(days, 80) for day in block] == days


def test_colours_are_letters_explained_in_a_legend() -> None:
    text = board(PLAN, read_labels(), 80)
    assert "4 x Carrot salad" in text and "[OW]" in text
    assert "Colours: O orange, W white" in text


def test_a_colour_of_the_cafes_own_takes_the_first_letter_that_is_free() -> None:
    assert letters(["green", "gold", "teal", "azure"]) == {
        "green": "G",
        "gold": "L",
        "teal": "T",
        "azure": "A",
    }
    assert letters(["pink", "black", "brown"]) == {"pink": "I", "black": "K", "brown": "B"}
    assert letters(["grey", "ro"])["ro"] == "?"


def test_a_name_with_brackets_is_shown_as_it_is() -> None:
    assert "[bold]Roast[/x]" in board(PLAN, cafe_with(roast={"name": "[bold]Roast[/x]"}), 200)


def test_the_bound_is_a_sentence_in_money_and_only_claims_what_is_proven() -> None:
    sentence = week_board.bound_sentence
    gap = "No week that keeps your rules can earn more than $1.81 above this one"
    assert sentence(PLAN) == f"{gap}."
    near = " among weeks that change at most 2 of the earlier plan's cooks."
    assert sentence(PLAN, 2) == gap + near
    optimal = PLAN.model_copy(update={"status": "optimal"})
    assert sentence(optimal) == "Proven best to the cent."
    assert "has not been proven" in sentence(PLAN.model_copy(update={"bound_cents": None}))


def test_below_the_tables_stands_what_is_used_up_binned_ordered_broken_and_unknown() -> None:
    text = board(PLAN, CAFE, 120)
    for words in (
        "squash: 2,000 g (stock-2), the last on Mon 2026-01-05",
        "Tue 2026-01-06 portions expected unsold: 720 g, $1.89",
        "Wed 2026-01-07 Pot of quinoa: 400 g, $1.44",
        "Hill Farm: $25.00, order by Fri 2026-01-02 14:00, comes Mon 2026-01-05",
        "Carrot salad shown 3 times, at most 2",
        "Carrot salad: allergens unknown, no label read for carrot, quinoa.",
        label_report.CHECK_LABELS,
    ):
        assert words in " ".join(text.split())


@pytest.mark.parametrize(
    ("currency", "text"),
    [("AUD", "-$1,234.50"), ("NZD", "-$1,234.50"), ("EUR", "-€1,234.50"), ("GBP", "-£1,234.50")],
)
def test_money_is_written_as_its_own_country_writes_it(currency: str, text: str) -> None:
    assert money_text(-123450, currency) == text


def test_many_breaches_of_one_rule_are_counted_not_listed() -> None:
    broken = [Breach(rule="Season", text=f"dish {n} is out of season") for n in range(6)]
    broken.append(Breach(rule="Stock to use up", text="20 g too little is used"))
    lines = dict(sections(small_plan(), small_cafe(), broken))["Rules broken for their price"]
    assert lines[3:] == ["dish 3 is out of season", "Season: 2 more", "20 g too little is used"]
