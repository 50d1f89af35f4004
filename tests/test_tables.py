"""Reading a cafe folder: what the facts become, and what is a fault."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import pytest
from cafe_folder import FILES, edited, write_folder

from optimiser.cafe import NO_LIMIT_DAYS, Form, State
from optimiser.table_rows import MAX_BYTES, MAX_ROWS
from optimiser.tables import Reading, TableFaults, read_folder


def read(path: Path, **overrides: str | bytes | None) -> Reading:
    return read_folder(write_folder(path, **overrides))


def faults(path: Path, **overrides: str | bytes | None) -> list[str]:
    with pytest.raises(TableFaults) as caught:
        read(path, **overrides)
    return [str(fault) for fault in caught.value.faults]


def only_fault(path: Path, **overrides: str | bytes | None) -> str:
    found = faults(path, **overrides)
    assert len(found) == 1, found
    return found[0]


# What a valid folder becomes


def test_the_settings_are_read(tmp_path: Path) -> None:
    cafe = read(tmp_path).cafe
    assert (cafe.name, cafe.currency, cafe.week) == ("The Test Bench", "AUD", date(2026, 11, 30))
    assert cafe.open_days == {0, 1}
    assert cafe.courses["salad"].price_cents == 650
    assert cafe.courses["main"].price_cents == 1200
    assert cafe.plate == {"main": 1, "salad": 1}
    assert cafe.kitchen.oven_min == (120.0,) * 7
    assert cafe.kitchen.hands_on_min == (300, 360.5, 0, 0, 0, 0, 0)
    assert cafe.kitchen.hob_min is None
    assert cafe.kitchen.cook_ahead_days == 1
    assert cafe.money.waste_cost_pct == 90


def test_the_rules_are_parsed(tmp_path: Path) -> None:
    assert [rule.kind for rule in read(tmp_path).rules] == ["bar"]


def test_unknown_allergens_stay_unknown_and_none_means_none(tmp_path: Path) -> None:
    ingredients = read(tmp_path).cafe.ingredients
    assert ingredients["spinach"].allergens is None
    assert ingredients["squash"].allergens == frozenset()
    assert ingredients["tofu"].allergens == {"soybeans"}


def test_offers_gather_their_dated_prices(tmp_path: Path) -> None:
    offers = read(tmp_path).cafe.offers_of["squash"]
    two, ten_kg = offers
    assert (two.pack_g, two.pieces) == (3000, 2)
    assert [price.price_cents for price in two.prices] == [900, 940]
    assert two.price_cents_on(date(2026, 10, 31)) == 900
    assert two.price_cents_on(date(2026, 11, 1)) == 940
    assert (ten_kg.pack_g, ten_kg.pieces) == (10_000, 6)
    assert ten_kg.prices[0].price_cents == 2805


def test_a_bag_just_short_of_a_piece_still_counts_it(tmp_path: Path) -> None:
    offers = FILES["offers"].replace("squash,van,10,kg", "squash,van,2.975,kg")
    assert read(tmp_path, offers=offers).cafe.offers_of["squash"][1].pieces == 2


def test_lots_are_named_by_their_row_and_weighed(tmp_path: Path) -> None:
    whole, half, quinoa, cooked, by_weight = read(tmp_path).cafe.stock
    assert [lot.id for lot in (whole, half, cooked)] == ["stock-1", "stock-2", "stock-4"]
    assert (whole.units, whole.grams, whole.state) == (3, 4500, State.WHOLE)
    assert (half.units, half.grams) == (0, 750)
    assert (quinoa.grams, quinoa.use_by) == (2000, None)
    assert cooked.grams == 600
    assert (by_weight.units, by_weight.grams) == (4, 6000)


def test_lines_are_grams_with_the_yield_of_line_or_ingredient(tmp_path: Path) -> None:
    dishes = read(tmp_path).cafe.dishes
    soup, roast = dishes["soup"].lines[0], dishes["roast"].lines[0]
    assert soup.purchased_g == pytest.approx(2400 / 0.84)
    assert roast.purchased_g == pytest.approx(2800)
    cooked, spinach = dishes["quinoa_salad"].lines
    assert (cooked.edible_g, cooked.yield_pct) == (800, 100)
    assert spinach.edible_g == pytest.approx(2 * 250 * 0.13)
    assert dishes["tofu_salad"].lines[0].edible_g == 1125
    assert not dishes["tofu_salad"].lines[1].visible


def test_steps_come_in_their_order_and_keep_line_breaks(tmp_path: Path) -> None:
    steps = read(tmp_path).cafe.dishes["soup"].steps
    assert [step.number for step in steps] == [1, 2]
    assert steps[1].text == "Blend it\nuntil smooth."


def test_a_blank_portion_is_the_courses(tmp_path: Path) -> None:
    reading = read(tmp_path)
    assert reading.cafe.dishes["tofu_salad"].portion_g == 150
    assert "dishes.csv: portion_g blank, taken from the course: tofu_salad" in reading.notes


def test_suppliers_covers_and_history_are_read(tmp_path: Path) -> None:
    cafe = read(tmp_path).cafe
    van = cafe.suppliers["van"]
    assert (van.delivers, van.delivers_on) == ({0, 1}, {date(2026, 12, 5)})
    assert (van.minimum_order_cents, van.delivery_fee_cents) == (5000, 750)
    assert van.cut_off == time(14)
    assert cafe.cover_on(date(2026, 11, 30)).high == 55
    assert cafe.cover_on(date(2026, 12, 1)).chances == ((60, 0.25), (70, 0.5), (90, 0.25))
    assert (cafe.covers[1].low, cafe.covers[1].high) == (50, 50)
    assert cafe.history[1].sold_out_at == time(13, 10)


def test_a_blank_life_is_never_longer_than_a_day_unless_dry(tmp_path: Path) -> None:
    text = edited("ingredients", "keeps_days", "spinach", "")
    spinach = read(tmp_path, ingredients=text)
    assert spinach.cafe.ingredients["spinach"].keeps_days == 1
    assert "ingredients.csv: keeps_days blank, taken as 1 day: spinach" in spinach.notes
    text = edited("ingredients", "opened_keeps_days", "squash", "")
    assert read(tmp_path, ingredients=text).cafe.ingredients["squash"].opened_keeps_days == 1
    text = edited("ingredients", "keeps_days", "quinoa", "")
    quinoa = read(tmp_path, ingredients=text).cafe.ingredients["quinoa"]
    assert (quinoa.form, quinoa.keeps_days) == (Form.DRY, NO_LIMIT_DAYS)


def test_an_opened_thing_never_outlives_the_whole_one(tmp_path: Path) -> None:
    text = edited("ingredients", "opened_keeps_days", "tofu", "400")
    assert read(tmp_path, ingredients=text).cafe.ingredients["tofu"].opened_keeps_days == 20


def test_a_byte_order_mark_extra_columns_and_blank_lines_are_no_fault(tmp_path: Path) -> None:
    text = FILES["suppliers"].replace("cut_off", "cut_off,fax").replace("14:00", "14:00,none")
    mac = ("\ufeff" + text.replace("van,", "\r\n,,,,,,,\r\nvan,")).encode()
    assert read(tmp_path, suppliers=mac).cafe.suppliers["van"].name == "The Van"


def test_steps_and_history_may_be_absent_and_that_is_noted(tmp_path: Path) -> None:
    notes = read(tmp_path, steps=None, history=None).notes
    assert "steps.csv is not there; read as empty" in notes
    assert "history.csv is not there; read as empty" in notes


def test_nothing_in_stock_is_no_fault(tmp_path: Path) -> None:
    assert read(tmp_path, stock="item,qty,unit,use_by,state\n").cafe.stock == ()


# Faults of one cell, each told as file:row:column: value: what and mend

CELLS = [
    ("ingredients", "ingredient", "tofu", "To-Fu", 3, "To-Fu: not an id"),
    ("ingredients", "form", "tofu", "hole", 3, "hole: use one of whole, loose, dry"),
    ("ingredients", "colour", "tofu", "#fff", 3, "#fff: not a plain word"),
    ("ingredients", "piece_g", "tofu", "", 3, "(blank): a whole thing needs the weight"),
    ("ingredients", "piece_g", "tofu", "0", 3, "0: not a likely amount"),
    ("ingredients", "yield_pct", "tofu", "101", 3, "101: not a likely amount"),
    ("ingredients", "protein_g", "tofu", "101", 3, "101: not a likely amount"),
    ("ingredients", "protein_g", "tofu", "nan", 3, "nan: not a number"),
    ("ingredients", "protein_g", "tofu", "inf", 3, "inf: not a number"),
    ("ingredients", "protein_g", "tofu", "1e999", 3, "1e999: not a likely amount"),
    ("ingredients", "protein_g", "tofu", "2,5", 3, "2,5: not a number; write it with a point"),
    ("ingredients", "protein_g", "tofu", "1_0", 3, "1_0: not a number"),
    ("ingredients", "protein_g", "tofu", "１", 3, "１: not a number"),
    ("ingredients", "lysine_mg_per_g_protein", "tofu", "151", 3, "151: not a likely amount"),
    ("ingredients", "keeps_days", "tofu", "0", 3, "0: not a likely amount"),
    ("ingredients", "keeps_days", "tofu", "1.5", 3, "1.5: not a whole number"),
    ("ingredients", "allergens", "tofu", "none;soy", 3, "none;soy: `none` beside other"),
    ("ingredients", "allergens", "tofu", "unknown", 3, "unknown: leave the cell blank"),
    ("ingredients", "allergens", "tofu", "soy;;nuts", 3, "soy;;nuts: an empty entry"),
    ("ingredients", "diets_excluded", "tofu", "<b>", 3, "<b>: not a plain word"),
    ("ingredients", "months", "tofu", "13", 3, "13: not months"),
    ("suppliers", "delivers", "van", "moo", 2, "moo: neither a weekday"),
    ("suppliers", "delivers", "van", "2026-02-30", 2, "2026-02-30: not a date of the calendar"),
    ("suppliers", "delivers", "van", "", 2, "(blank): must not be blank"),
    ("suppliers", "delivery_fee", "van", "7.505", 2, "7.505: not an amount of money"),
    ("suppliers", "delivery_fee", "van", "-1", 2, "-1: not an amount of money"),
    ("suppliers", "cut_off", "van", "25:00", 2, "25:00: not a time of day"),
    ("offers", "price", "spinach", "", 6, "(blank): must not be blank"),
    ("offers", "price", "spinach", "$3", 6, "$3: not an amount of money"),
    ("offers", "price", "spinach", "0.00", 6, "0.00: a price of nothing"),
    (
        "offers",
        "ingredient",
        "spinach",
        "spinich",
        6,
        "no ingredient of this id; did you mean spin",
    ),
    ("offers", "supplier", "spinach", "vat", 6, "vat: no supplier of this id; did you mean van?"),
    ("offers", "pack_qty", "spinach", "1001", 6, "more than 1000 kg"),
    ("offers", "pack_qty", "squash", "1.5", 2, "1.5: a pack holds whole pieces"),
    ("offers", "pack_unit", "spinach", "each", 6, "add piece_g"),
    ("offers", "pack_unit", "spinach", "bag", 6, "bag: use one of g, kg, ml"),
    ("offers", "from_date", "spinach", "01/11/2026", 6, "01/11/2026: not a date of the calendar"),
    ("offers", "from_date", "spinach", "20261101", 6, "20261101: not a date of the calendar"),
    ("offers", "from_date", "spinach", "9999-12-31", 6, "9999-12-31: not a likely year"),
    ("dishes", "course", "soup", "mian", 5, "mian: no course of this id; did you mean main?"),
    ("dishes", "portions", "soup", "0", 5, "0: not a likely amount"),
    ("dishes", "hold_days", "soup", "61", 5, "61: not a likely amount"),
    ("dishes", "min_portions", "soup", "61", 5, "61: more than max_portions (60)"),
    ("dishes", "step_portions", "soup", "70", 5, "70: no multiple of it lies between 10 and 60"),
    ("dishes", "served_as", "soup", "tepid", 5, "tepid: use one of hot, cold"),
    ("dishes", "portion_g", "cooked_quinoa", "", 2, "(blank): must not be blank for a component"),
    ("recipe_lines", "qty", "soup", "-2", 7, "-2: not a likely amount"),
    ("recipe_lines", "qty", "soup", "0", 7, "0: not a likely amount"),
    ("recipe_lines", "qty", "soup", "2400000", 7, "2400000: not a likely amount"),
    ("recipe_lines", "unit", "soup", "pinch", 7, "pinch: use one of"),
    ("recipe_lines", "unit", "soup", "cup", 7, "add g_per_ml"),
    ("recipe_lines", "unit", "quinoa_salad", "cup", 3, "measured in g, kg or portion"),
    ("recipe_lines", "item", "soup", "squosh", 7, "no ingredient or dish of this id; did you mean"),
    ("recipe_lines", "visible", "soup", "maybe", 7, "maybe: write yes or no"),
    ("recipe_lines", "yield_pct", "quinoa_salad", "90", 3, "90: a cooked dish has no trim"),
    ("steps", "dish", "soup", "soap", 2, "soap: no dish of this id; did you mean soup?"),
    ("stock", "qty", "squash", "2.5", 2, "list the part as its own `opened` row"),
    ("stock", "use_by", "squash", "", 2, "(blank): must not be blank; write the date on the label"),
    ("stock", "state", "squash", "cut", 2, "cut: use one of whole, opened, cooked"),
    ("stock", "state", "squash", "cooked", 2, "squash is an ingredient"),
    ("stock", "state", "cooked_quinoa", "whole", 5, "cooked_quinoa is a dish"),
    ("covers", "low", "mon", "41", 2, "41: more than covers"),
    ("covers", "high", "mon", "39", 2, "39: less than covers"),
    ("covers", "chances", "mon", "40:0.4;50:0.4", 2, "the chances add up to 0.8"),
    ("covers", "chances", "mon", "40", 2, "40: write guests:probability"),
    ("history", "dish", "2026-11-23", "soap", 2, "soap: no dish of this id; did you mean soup?"),
    ("history", "sold_out_at", "2026-11-23", "noon", 2, "noon: not a time of day"),
]


@pytest.mark.parametrize(("stem", "column", "row_id", "value", "line", "words"), CELLS)
def test_a_faulty_cell_is_named_with_its_row_and_value(
    tmp_path: Path, stem: str, column: str, row_id: str, value: str, line: int, words: str
) -> None:
    found = faults(tmp_path, **{stem: edited(stem, column, row_id, value)})
    start = f"{stem}.csv:{line}:{'pack_qty' if 'pack holds' in words else column}: "
    mine = [text for text in found if text.startswith(start) and words in text]
    assert len(mine) == 1, found


def test_one_fault_is_told_once_without_its_consequences(tmp_path: Path) -> None:
    only_fault(tmp_path, ingredients=edited("ingredients", "piece_g", "tofu", ""))
    only_fault(tmp_path, ingredients=edited("ingredients", "form", "squash", "x"))
    only_fault(tmp_path, dishes=edited("dishes", "portion_g", "cooked_quinoa", "x"))


# Faults between rows and between files


@pytest.mark.parametrize(
    ("stem", "line"),
    [("ingredients", 3), ("suppliers", 2), ("offers", 3), ("dishes", 5), ("recipe_lines", 7)]
    + [("covers", 2), ("history", 2)],
)
def test_a_row_given_twice_is_a_fault(tmp_path: Path, stem: str, line: int) -> None:
    lines = FILES[stem].splitlines()
    text = "\n".join([*lines, lines[line - 1]])
    found = only_fault(tmp_path, **{stem: text})
    assert f"{stem}.csv:{len(lines) + 1}:" in found and f"as in row {line}" in found


def test_rows_are_counted_as_lines_of_the_file(tmp_path: Path) -> None:
    found = only_fault(tmp_path, steps=FILES["steps"] + "soap,1,Stir.,1,hob,0\n")
    assert found.startswith("steps.csv:5:dish: soap: ")


def test_a_dish_in_itself_is_named_in_full(tmp_path: Path) -> None:
    lines = FILES["recipe_lines"] + "cooked_quinoa,soup,1,g,,,\nsoup,quinoa_salad,1,g,,,\n"
    found = only_fault(tmp_path, recipe_lines=lines)
    assert "a part of itself" in found
    assert "quinoa_salad -> cooked_quinoa -> soup -> quinoa_salad" in found or (
        "cooked_quinoa -> soup -> quinoa_salad -> cooked_quinoa" in found
    )


def test_two_separate_cycles_are_two_faults(tmp_path: Path) -> None:
    lines = FILES["recipe_lines"] + "soup,soup,1,g,,,\nroast,tofu_salad,1,g,,,\n"
    found = faults(tmp_path, recipe_lines=lines + "tofu_salad,roast,1,g,,,\n")
    assert len(found) == 2
    assert any("soup -> soup" in text for text in found)


def test_dishes_nested_very_deeply_are_refused_without_a_crash(tmp_path: Path) -> None:
    row = FILES["dishes"].splitlines()[1].removeprefix("cooked_quinoa")
    dishes = FILES["dishes"] + "".join(f"d{n}{row}\n" for n in range(1500))
    lines = FILES["recipe_lines"] + "".join(f"d{n},d{n + 1},1,g,,,\n" for n in range(1499))
    found = only_fault(tmp_path, dishes=dishes, recipe_lines=lines + "d1499,quinoa,1,g,,,\n")
    assert "nested more than" in found


def test_an_id_of_both_kinds_is_a_fault(tmp_path: Path) -> None:
    text = FILES["ingredients"].replace("spinach,", "soup,", 1)
    found = faults(tmp_path, ingredients=text)
    assert any("dishes.csv:5:dish: soup: also the id of an ingredient" in one for one in found)


def test_a_dish_without_lines_is_a_fault(tmp_path: Path) -> None:
    lines = FILES["recipe_lines"].replace("roast,squash,2.8,kg,100,yes,skin on\n", "")
    assert only_fault(tmp_path, recipe_lines=lines).startswith(
        "dishes.csv:6:dish: roast: has no lines"
    )


def test_an_open_day_without_guests_is_a_fault(tmp_path: Path) -> None:
    covers = FILES["covers"].replace("mon,40,30,55,\n", "")
    assert "mon: an open day without a row" in only_fault(tmp_path, covers=covers)


def test_whole_stock_lighter_than_a_piece_is_a_fault(tmp_path: Path) -> None:
    stock = FILES["stock"].replace("squash,7.4,kg", "squash,0.7,kg")
    assert "stock.csv:6:qty: 0.7: less than one piece" in only_fault(tmp_path, stock=stock)


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        cafe=FILES["cafe"].replace("price = 12", "price = 12.345").replace("soup", "soap"),
        ingredients=edited("ingredients", "yield_pct", "tofu", "0"),
        offers=edited("offers", "price", "quinoa", "-40"),
        stock=edited("stock", "use_by", "squash", "soon"),
        covers=None,
        history=FILES["history"] + "2026-11-25,soup,3\n",
    )
    starts = [
        "cafe.toml: courses.main.price: 12.345: ",
        "cafe.toml: rules.1: bar: ",
        "ingredients.csv:3:yield_pct: 0: ",
        "offers.csv:7:price: -40: ",
        "stock.csv:2:use_by: soon: ",
        "covers.csv: missing",
        "history.csv:4:sold: (blank): 3 cells where the header has 6",
    ]
    assert len(found) == len(starts), found
    assert all(text.startswith(start) for text, start in zip(found, starts, strict=True)), found


# Faults of whole files


@pytest.mark.parametrize("stem", [stem for stem in FILES if stem not in ("steps", "history")])
def test_a_missing_file_is_the_only_fault(tmp_path: Path, stem: str) -> None:
    assert "missing; add this file" in only_fault(tmp_path, **{stem: None})


@pytest.mark.parametrize("stem", [stem for stem in FILES if stem != "cafe"])
def test_an_empty_file_asks_for_its_header(tmp_path: Path, stem: str) -> None:
    assert only_fault(tmp_path, **{stem: ""}).startswith(f"{stem}.csv: no header row")


@pytest.mark.parametrize(
    "stem", ["ingredients", "suppliers", "offers", "dishes", "recipe_lines", "covers"]
)
def test_a_table_without_rows_is_a_fault(tmp_path: Path, stem: str) -> None:
    found = only_fault(tmp_path, **{stem: FILES[stem].splitlines()[0]})
    assert found.startswith(f"{stem}.csv: no rows below the header")


def test_a_missing_column_is_named_with_the_column_that_may_be_meant(tmp_path: Path) -> None:
    text = FILES["ingredients"].replace("yield_pct", "yeild_pct")
    assert only_fault(tmp_path, ingredients=text) == (
        "ingredients.csv:1:yield_pct: yield_pct: this column is missing; add it; "
        "is it the one called yeild_pct?"
    )


def test_a_column_given_twice_is_a_fault(tmp_path: Path) -> None:
    text = FILES["suppliers"].replace("cut_off", "name")
    assert "this column is there twice" in "\n".join(faults(tmp_path, suppliers=text))


def test_a_bad_byte_is_named_by_its_line(tmp_path: Path) -> None:
    text = FILES["stock"].encode().replace(b"tofu", b"tof\xfc").replace(b"quinoa,2", b"quino\xe4,2")
    assert only_fault(tmp_path, stock=text).startswith("stock.csv:4:byte 6: 0xe4: not UTF-8")


def test_a_stray_quote_is_named_by_the_row_where_it_opens(tmp_path: Path) -> None:
    text = FILES["stock"].replace("quinoa,2,kg", 'quinoa,"2,kg')
    assert only_fault(tmp_path, stock=text).startswith("stock.csv:4:quotes: ")
    text = FILES["stock"].replace("quinoa,2,kg", 'quinoa,"2"x,kg')
    assert only_fault(tmp_path, stock=text).startswith("stock.csv:4:quotes: ")


def test_short_and_long_rows_are_faults(tmp_path: Path) -> None:
    found = faults(tmp_path, stock=FILES["stock"] + "squash,1\nsquash,1,kg,,opened,yes\n")
    assert found[0].startswith("stock.csv:7:unit: (blank): 2 cells where the header has 5")
    assert found[1].startswith("stock.csv:8:cell 6: yes: 6 cells where the header has 5")


def test_semicolons_between_cells_are_told_once(tmp_path: Path) -> None:
    text = FILES["covers"].replace(";", "/").replace(",", ";")
    assert "cells are parted by semicolons" in "\n".join(faults(tmp_path, covers=text))


def test_control_characters_are_faults(tmp_path: Path) -> None:
    text = FILES["suppliers"].replace("The Van", "The\x00Van")
    assert "The\\x00Van: holds a control character" in only_fault(tmp_path, suppliers=text)


def test_a_file_that_is_too_large_is_refused_unread(tmp_path: Path) -> None:
    text = FILES["history"] + " " * MAX_BYTES
    assert "history.csv: over 10 MB" in only_fault(tmp_path, history=text)


def test_too_many_rows_are_refused(tmp_path: Path) -> None:
    text = FILES["stock"] + "quinoa,1,g,,whole\n" * MAX_ROWS
    assert "more than 100,000 rows" in only_fault(tmp_path, stock=text)


def test_too_many_dishes_are_refused(tmp_path: Path) -> None:
    row = FILES["dishes"].splitlines()[1].removeprefix("cooked_quinoa")
    text = FILES["dishes"] + "".join(f"d{n}{row}\n" for n in range(2000))
    assert "dishes.csv: more than 2,000 dishes" in faults(tmp_path, dishes=text)[0]


def test_a_folder_that_is_not_there_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(TableFaults, match="nowhere: no such folder"):
        read_folder(tmp_path / "nowhere")


def test_an_allergen_on_no_list_is_noted(tmp_path: Path) -> None:
    folder = write_folder(
        tmp_path, ingredients=edited("ingredients", "allergens", "quinoa", "celry")
    )
    notes = " ".join(read_folder(folder).notes)
    assert "'celry' is on neither the EU nor the ANZ list" in notes
    assert "did you mean celery?" in notes


@pytest.mark.parametrize("written", ["dark green", "Dark-Green", "dark_green"])
def test_one_colour_is_one_however_it_is_joined(tmp_path: Path, written: str) -> None:
    cells = edited("ingredients", "colour", "spinach", written)
    reading = read_folder(write_folder(tmp_path, ingredients=cells))
    assert reading.cafe.ingredients["spinach"].colour == "dark green"
