"""Lines of recipes as people write them, read against the sample cafe.

Each expectation was written by hand from the line and the sample's tables: what a cook
means by it, and whether somebody has to look at it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.cafe import Cafe
from optimiser.name_match import is_sure, matches, words
from optimiser.recipe_amount import Amount, leading, number, tidy
from optimiser.recipe_text import (
    CHECK,
    HEADING,
    LONGEST_LINE,
    MOST_LINES,
    OPEN,
    READ,
    PastedRow,
    lines_left_out,
    open_points,
    read_recipe,
    recipe_cells,
    state_of,
)
from optimiser.tables import read_folder
from optimiser.units import UNITS


@cache
def cafe() -> Cafe:
    return read_folder(Path(__file__).parent.parent / "sample_data").cafe


def read(line: str) -> PastedRow:
    (row,) = read_recipe(cafe(), line)
    return row


# (line, qty, unit, item, note): nothing to confirm
PLAIN = [
    ("1 1/2 cups quinoa", 1.5, "cup", "quinoa", ""),
    ("3 tbsp olive oil", 3, "tbsp", "olive_oil", ""),
    ("3 tablespoons extra virgin olive oil", 3, "tbsp", "olive_oil", "extra virgin"),
    ("300g kale", 300, "g", "kale", ""),
    ("300 g kale, torn", 300, "g", "kale", "torn"),
    ("1.5kg potatoes", 1.5, "kg", "potato", ""),
    ("1½ kg potatoes", 1.5, "kg", "potato", ""),
    ("¾ cup red lentils", 0.75, "cup", "red_lentils", ""),
    ("2 ½ cups red lentils", 2.5, "cup", "red_lentils", ""),
    ("1/3 cup pine nuts", 1 / 3, "cup", "pine_nuts", ""),
    ("1⁄4 cup pine nuts", 0.25, "cup", "pine_nuts", ""),
    ("half a cup of raisins", 0.5, "cup", "raisins", ""),
    ("2 and 1/2 tsp salt", 2.5, "tsp", "salt", ""),
    ("1 tsp. salt", 1, "tsp", "salt", ""),
    ("1 T tamari", 1, "tbsp", "tamari", ""),
    ("2 t turmeric", 2, "tsp", "turmeric", ""),
    ("250 ml soy sauce", 250, "ml", "soy_sauce", ""),
    ("0.25 l soy sauce", 0.25, "l", "soy_sauce", ""),
    ("two cups brown rice", 2, "cup", "brown_rice", ""),
    ("200 grams of cashews, soaked overnight", 200, "g", "cashews", "soaked overnight"),
    ("- 200 g cashews", 200, "g", "cashews", ""),
    ("• 200 g cashews", 200, "g", "cashews", ""),
    ("1. 200 g cashews", 200, "g", "cashews", ""),
    ("200\u00a0g cashews", 200, "g", "cashews", ""),
    ("200 G CASHEWS", 200, "g", "cashews", ""),
    ("200 g finely chopped red onion", 200, "g", "red_onion", "finely chopped"),
    ("200 g red onion (peeled)", 200, "g", "red_onion", "peeled"),
    ("2 x 400 g tins black beans, drained", 2, "each", "black_beans_tin", "drained"),
    ("2 × 400g tins black beans", 2, "each", "black_beans_tin", ""),
    ("2 (400 g) tins black beans", 2, "each", "black_beans_tin", ""),
    ("2 400 g tins black beans", 2, "each", "black_beans_tin", ""),
    ("2 tins (400 g each) black beans", 2, "each", "black_beans_tin", ""),
    ("400 g tin black beans", 1, "each", "black_beans_tin", ""),
    ("2 cans white beans", 2, "each", "white_beans_tin", ""),
    ("2 x 450 g blocks firm tofu", 2, "each", "tofu_firm", ""),
    ("3 x 250 g carrots", 750, "g", "carrot", ""),
    ("250 g / 9 oz firm tofu", 250, "g", "tofu_firm", ""),
    ("1.2kg/2lb carrots", 1.2, "kg", "carrot", ""),
    ("Carrots, 400 g", 400, "g", "carrot", ""),
    ("Carrots: 400g", 400, "g", "carrot", ""),
    ("Carrots - 400 g", 400, "g", "carrot", ""),
    ("olive oil 3 tbsp", 3, "tbsp", "olive_oil", ""),
    ("Carrots (400 g)", 400, "g", "carrot", ""),
    ("3 portions lemon tahini dressing", 3, "portion", "tahini_dressing", ""),
    ("600 g plain cooked quinoa", 600, "g", "cooked_quinoa", ""),
    ("1 block tempeh", 1, "each", "tempeh", ""),
    ("2 tsp salt to taste", 2, "tsp", "salt", "to taste"),
]

# (line, qty, unit, item, words of the doubt): complete, but somebody has to look
DOUBTFUL = [
    ("2 x 400 g tins chickpeas, drained", 2, "each", "chickpeas_tin", "2 pieces of 253 g"),
    ("2-3 tbsp olive oil", 3, "tbsp", "olive_oil", "2 to 3: the larger"),
    ("2 to 3 tbsp olive oil", 3, "tbsp", "olive_oil", "2 to 3: the larger"),
    ("½–1 tsp salt", 1, "tsp", "salt", "0.5 to 1: the larger"),
    ("1,5 kg potatoes", 1.5, "kg", "potato", "a comma: read as 1.5"),
    ("1,500 g potatoes", 1500, "g", "potato", "a comma: read as 1500"),
    ("8 oz pecans", 227, "g", "pecans", "8 oz: taken as 227 g"),
    ("1 lb potatoes", 454, "g", "potato", "1 lb: taken as 454 g"),
    ("3 carrots, grated", 3, "each", "carrot", "89 % of a piece is eaten"),
    ("1 large mushroom", 1, "each", "mushroom", "large: a piece here is of 18 g"),
    ("4 cloves garlic, crushed", 4, "each", "garlic", "4 pieces of 3 g"),
    ("a clove of garlic", 1, "each", "garlic", "1 piece of 3 g"),
    ("juice of 150 ml lemons", 150, "ml", "lemon", "only the juice is used"),
    ("zest of 2 limes", 2, "each", "lime", "only the zest is used"),
    ("1 cup (200 g) red lentils", 200, "g", "red_lentils", "the weight in brackets"),
    ("1 carrot (about 120 g)", 120, "g", "carrot", "the weight in brackets"),
    ("400 g tin tomatoes", 400, "g", "tomato", "in a tin? here it is weighed"),
    ("250 g chickpeas", 250, "g", "chickpeas_dry", "it may also be Chickpeas, 450 g tin"),
    ("250 g tofu", 250, "g", "tofu_firm", "it may also be Silken tofu"),
    ("250 g flat-leaf parsley", 250, "g", "parsley", "is it Flat parsley?"),
    ("250 g walnits", 250, "g", "walnuts", "is it Walnuts, shelled?"),
    ("250 g butternut squash", 250, "g", "butternut", "is it Butternut pumpkin, whole?"),
    ("250 g almond milk", 250, "g", "almonds", "is it Almonds, shelled?"),
    ("10 g salt and pepper", 10, "g", "salt", "two things in one line?"),
]

# (line, words of what is missing)
GAPS = [
    ("salt", "no amount"),
    ("salt to taste", "no amount"),
    ("Handful of mint", "no amount"),
    ("½ bunch parsley, chopped", "the weight of one piece is unknown; add piece_g"),
    ("2 eggplants", "the weight of one piece is unknown; add piece_g"),
    ("a pinch of salt", "no unit"),
    ("2 stalks celery", "no unit"),
    ("1 pint soy sauce", "no unit"),
    ("8 fl oz soy sauce", "no unit"),
    ("2 cups cooked quinoa", "a cooked dish is measured in g, kg or portion"),
    ("2 plain cooked quinoa", "no unit"),
    ("2 tbsp flat rice noodles", "its weight per millilitre is unknown; add g_per_ml"),
    ("300 g unicorn steak", "not found"),
    ("1 cup plus 2 tbsp brown rice", "no amount"),
    ("5-spice powder", "not found"),
    ("1/0 cup quinoa", "no amount"),
    ("0 g quinoa", "no amount"),
    ("-", "no amount"),
    ("1 tin of sardines", "not found"),
]


@pytest.mark.parametrize(("line", "qty", "unit", "item", "note"), PLAIN)
def test_a_plain_line_is_read_whole(line: str, qty: float, unit: str, item: str, note: str) -> None:
    row = read(line)
    assert (row.qty, row.unit, row.item, row.note) == (pytest.approx(qty), unit, item, note)
    assert row.doubts == () and state_of(cafe(), row) == READ


@pytest.mark.parametrize(("line", "qty", "unit", "item", "doubt"), DOUBTFUL)
def test_a_doubtful_line_waits_for_somebody(
    line: str, qty: float, unit: str, item: str, doubt: str
) -> None:
    row = read(line)
    assert (row.qty, row.unit, row.item) == (pytest.approx(qty), unit, item)
    assert doubt in " | ".join(row.doubts)
    assert state_of(cafe(), row) == CHECK
    assert state_of(cafe(), row, confirmed=True) == READ


@pytest.mark.parametrize(("line", "gap"), GAPS)
def test_a_gap_is_named_and_no_confirming_fills_it(line: str, gap: str) -> None:
    row = read(line)
    assert gap in " | ".join(open_points(cafe(), row))
    assert state_of(cafe(), row, confirmed=True) == OPEN


def test_there_are_lines_of_many_shapes() -> None:
    assert len({line for line, *_ in (*PLAIN, *DOUBTFUL, *GAPS)}) >= 80


def test_an_unknown_weight_stays_unknown_until_somebody_gives_grams() -> None:
    row = read("½ bunch parsley, chopped")
    assert (row.qty, row.item, row.note) == (0.5, "parsley", "chopped")
    mended = replace(row, qty=30.0, unit="g")
    assert state_of(cafe(), mended) == CHECK  # the bunch is still to be confirmed
    assert state_of(cafe(), mended, confirmed=True) == READ


def test_headings_and_blank_lines_are_no_rows_of_the_recipe() -> None:
    rows = read_recipe(cafe(), "For the dressing:\n\n  \n2 tsp salt\n")
    assert [state_of(cafe(), row) for row in rows] == [HEADING, READ]
    assert [cells["item"] for cells in recipe_cells(rows)] == ["salt"]


def test_cells_are_those_of_the_table() -> None:
    rows = read_recipe(cafe(), "1/3 cup pine nuts, toasted\nsalt")
    assert recipe_cells(rows) == [
        {"item": "pine_nuts", "qty": "0.3333333333", "unit": "cup", "yield_pct": "",
         "visible": "yes", "flexible": "", "note": "toasted"},
        {"item": "salt", "qty": "", "unit": "", "yield_pct": "", "visible": "yes",
         "flexible": "", "note": ""},
    ]  # fmt: skip


def test_too_much_text_says_so() -> None:
    text = "2 tsp salt\n" * (MOST_LINES + 3)
    assert len(read_recipe(cafe(), text)) == MOST_LINES and lines_left_out(text) == 3
    row = read("2 tsp salt " + "x" * LONGEST_LINE)
    assert row.qty is None and "longer than" in row.doubts[0] and state_of(cafe(), row) == OPEN


def test_an_uncertain_name_shows_its_alternatives() -> None:
    row = read("250 g tofu")
    assert {one.item for one in row.matches[:2]} == {"tofu_firm", "tofu_silken"}
    assert not is_sure(row.matches)


def test_what_a_thing_is_sold_in_tells_two_of_one_name_apart() -> None:
    assert matches(cafe(), "chickpeas", "tin")[0].item == "chickpeas_tin"
    assert matches(cafe(), "chickpeas", "dry")[0].item == "chickpeas_dry"
    assert not is_sure(matches(cafe(), "chickpeas"))


def test_words_are_compared_in_the_singular_without_accents() -> None:
    assert words("Tomatoes, berries & Bay LEAVES") == ("tomato", "berry", "bay", "leaf")
    assert words("Crème de cassis, glass") == ("creme", "de", "cassis", "glass")


@pytest.mark.parametrize(
    ("text", "value"),
    [("1", 1), ("1 1/2", 1.5), ("3/4", 0.75), ("2.5", 2.5), ("1,5", 1.5), ("1,500", 1500),
     ("half a", 0.5), ("two", 2), ("1/0", None), ("0", None), ("9999999", None), (".5", 0.5)],
)  # fmt: skip
def test_numbers(text: str, value: float | None) -> None:
    assert number(text) == value


def test_a_size_is_kept_apart_from_how_many() -> None:
    assert leading(tidy("2 × 1½ kg bags")) == (Amount(1.5, "kg", count=2.0), "bags")


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_without_raising(text: str) -> None:
    for row in read_recipe(cafe(), text):
        assert row.unit in ("", *UNITS)
        assert row.qty is None or 0 < row.qty < float("inf")
        assert row.item == "" or cafe().name_of(row.item)
        state_of(cafe(), row)


PIECES_OF_LINES = st.sampled_from(
    "1 2 400 1/2 ½ ¼ 1/0 2-3 1,5 1.5 . , ( ) / - x × * + a an half two to or of and g kg ml l "
    "tsp tbsp T cup oz lb pint tin tins block head bunch pinch each portions chickpeas quinoa "
    "salt olive oil tofu large drained chopped juice plus : ; &".split()
)


@settings(max_examples=300, deadline=None)
@given(st.lists(PIECES_OF_LINES, min_size=1, max_size=9).map(" ".join))
def test_any_words_of_recipes_in_any_order_are_read_without_raising(line: str) -> None:
    for row in read_recipe(cafe(), line):
        assert row.unit in ("", *UNITS)
        assert row.qty is None or 0 < row.qty < float("inf")
        if state_of(cafe(), row) == READ:
            assert row.item and row.qty and row.unit and not row.doubts
