"""Sheets as HTML: the reports' own cells, escaped; old plans say so; what is known since."""

from __future__ import annotations

import io
from datetime import date, timedelta
from html.parser import HTMLParser

import pytest
from pypdf import PdfReader

from optimiser import reports, sheets_html
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.present import Present
from optimiser.sheets import Contents, contents
from optimiser.sheets_now import OLD, choices, known_now, narrowed, plan_sheets
from optimiser.sheets_words import said
from optimiser.tables import Reading
from tests.small_cafe import small_cafe, small_plan, small_rules

PLAN, CAFE = small_plan(), small_cafe()
DRAWN = {
    "week": lambda shown: sheets_html.week_board(shown, lambda colours: " ".join(colours)),
    "order": sheets_html.order_list,
    "prep": sheets_html.prep_list,
    "labels": sheets_html.labels,
    "use_up": sheets_html.use_up,
    "costs": sheets_html.costs,
}
SHOWN_COLUMNS = {
    "week": ("name", "portions", "protein_g"),
    "order": ("name", "packs", "pack", "cost", "supplier_name", "deliver_on", "order_by"),
    "prep": ("name", "portions", "hands_on_min", "item_name", "units", "then_use_by"),
    "labels": ("name", "cooked_on", "use_by", "contains", "vegan", "storage", "caution"),
    "use_up": ("name", "lot", "use_by", "stock_g", "used_g", "left_g", "binned_g"),
    "costs": ("name", "amount", "portion_cost", "portion_price", "food_cost_pct"),
}


class Words(HTMLParser):
    """The words of some HTML, and its tags."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[str] = []
        self.feed(html)

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)
        if tag != "strong":
            self.words.append(" ")

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())


def shown(plan: Plan = PLAN, cafe: Cafe = CAFE, stale: str = "") -> Contents:
    return contents(plan, cafe, stale=stale)


def reading(cafe: Cafe = CAFE) -> Reading:
    return Reading(cafe, small_rules(), ())


def present(stale: bool = False, breaches: tuple[Breach, ...] = ()) -> Present:
    return Present(PLAN, 1, 3, breaches, stale)


@pytest.mark.parametrize("name", DRAWN)
def test_every_cell_of_a_report_is_on_its_sheet(name: str):
    text = Words(DRAWN[name](shown())).text
    table = shown().tables[name]
    weigh_or_other_dish = ("dish", "weigh")
    for row in table.rows:
        if row.get("task") in weigh_or_other_dish or (name == "costs" and row["amount"] is None):
            continue
        for column in SHOWN_COLUMNS[name]:
            if name == "costs" and column == "amount" and row["section"] == "dish":
                continue
            words = " ".join(said(row[column], PLAN.currency).split())
            assert words in text, (column, words)


def test_recipes_hold_every_line_scaled():
    text = Words(sheets_html.recipes(shown())).text
    rows = [row for row in shown().rows("prep") if row["task"] == "weigh"]
    assert rows
    for row in rows:
        for words in (f"{said(row['qty'])} {row['unit']}", str(row["item_name"]), str(row["lot"])):
            assert words in text


@pytest.mark.parametrize("name", [*DRAWN, "recipes"])
def test_names_are_text_and_never_markup(name: str):
    bad = '<script>alert("x")</script>&<b>'
    cafe = small_cafe(
        name=bad,
        dishes={k: d.model_copy(update={"name": bad}) for k, d in CAFE.dishes.items()},
        ingredients={k: i.model_copy(update={"name": bad}) for k, i in CAFE.ingredients.items()},
        suppliers={k: s.model_copy(update={"name": bad}) for k, s in CAFE.suppliers.items()},
    )
    html = (DRAWN | {"recipes": sheets_html.recipes})[name](shown(cafe=cafe))
    found = Words(html)
    assert "script" not in found.tags and bad in found.text


def test_cautions_stand_where_food_is_handled():
    care = shown().care
    for name in ("week", "labels"):
        text = Words(DRAWN[name](shown())).text
        assert all(line in text for line in care)
    for draw in (sheets_html.prep_list, sheets_html.recipes):
        assert all(line in Words(draw(shown())).text for line in shown().holding)
    assert "Serve nothing after its use-by date." in sheets_html.use_up(shown())
    assert "<strong>unknown</strong>" in sheets_html.labels(shown())


def test_a_choice_keeps_its_rows_only():
    suppliers = choices(shown(), "order", "supplier_name")
    assert len(suppliers) > 1
    one = narrowed(shown(), "order", {"supplier_name": suppliers[0], "deliver_on": None})
    assert {row["supplier_name"] for row in one.rows("order")} == {suppliers[0]}
    text = Words(sheets_html.order_list(one)).text
    assert str(suppliers[0]) in text and str(suppliers[1]) not in text
    none = narrowed(shown(), "order", {"deliver_on": date(2000, 1, 1)})
    assert "No orders for this choice." in sheets_html.order_list(none)


def test_a_current_plan_that_holds_is_shown_without_a_word():
    made = plan_sheets(present(), reading(), reading())
    assert made is not None and made.stale == "" and made.broken == ()
    assert set(made.files()) == set(reports.file_names())
    assert made.contents().bound == contents(PLAN, CAFE).bound


def test_a_plan_that_fails_under_its_own_tables_is_not_shown_at_all():
    broken = present(breaches=(Breach(rule="plan", text="wrong"),))
    assert plan_sheets(broken, reading(), reading()) is None


def test_an_old_plan_says_so_on_every_sheet_and_in_its_files():
    made = plan_sheets(present(True, (Breach(rule="bar", text="No soup"),)), reading(), reading())
    assert made is not None and made.broken == ("No soup",)
    assert "revision 3" in made.stale and "no longer holds" in made.stale
    for draw in (*DRAWN.values(), sheets_html.recipes):
        assert made.stale in Words(draw(made.contents())).text
        assert contents(PLAN, CAFE).bound not in Words(draw(made.contents())).text
    files = made.files()
    assert set(files) == {OLD + name for name in reports.file_names()}
    pdf = files[OLD + "week.pdf"]
    assert isinstance(pdf, bytes)
    pages = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    assert "Out of date: this week was planned on revision 3" in " ".join(pages.split())


def test_what_is_learned_since_counts_and_nothing_lives_longer():
    items = {
        "carrot": {"allergens": frozenset({"sesame"}), "keeps_days": 1},
        "quinoa": {"allergens": None},
        "squash": {"keeps_days": 900, "opened_keeps_days": 1},
    }
    now = small_cafe(
        ingredients={k: i.model_copy(update=items.get(k, {})) for k, i in CAFE.ingredients.items()},
        dishes={k: d.model_copy(update={"hold_days": 1}) for k, d in CAFE.dishes.items()},
        stock=(),
    )
    known = known_now(CAFE, now)
    assert known.ingredients["carrot"].allergens == {"sesame"}
    assert known.ingredients["quinoa"].allergens is None
    assert known.ingredients["carrot"].keeps_days == 1
    assert known.ingredients["squash"].keeps_days == CAFE.ingredients["squash"].keeps_days
    assert known.ingredients["squash"].opened_keeps_days == 1
    assert {dish.hold_days for dish in known.dishes.values()} == {1}
    assert known.stock == CAFE.stock
    labels = reports.label_rows(PLAN, known)
    assert any("sesame" in str(row["contains"]) for row in labels)
    assert all(row["use_by"] - row["cooked_on"] <= timedelta() for row in labels)  # type: ignore[operator]
