"""Edits in a browser: a price and where the menu changes with it; an amount in a recipe."""

from __future__ import annotations

import re
from datetime import date

import pytest

from optimiser.document import read_document
from optimiser.document_edits import rows_of
from optimiser.present import week_of
from optimiser.price_lines import breakpoints
from optimiser.report_base import money_text
from optimiser.store import Store
from tests.browser import steps
from tests.browser.accessible import is_in_order
from tests.browser.conftest import Opens
from tests.browser.screen import SIZES, Screen
from tests.browser.server import Server

MOVES = 4
"""Steps of the slider, 5 percent each."""


@pytest.mark.parametrize("size", SIZES)
def test_a_price_is_moved_followed_to_the_next_menu_and_written_down(
    easy_planned: Server, opens: Opens, size: str
) -> None:
    screen = opens(easy_planned, size, "price")
    page = screen.page
    screen.open("prices")
    page.get_by_role("combobox", name="Ingredient").click()
    screen.press(page.get_by_role("option", name="Squash"))

    page.get_by_role("slider").first.focus()
    for _ in range(MOVES):
        page.keyboard.press("ArrowRight")
    page.get_by_role("status").get_by_text("Keeping this menu costs").wait_for()
    page.get_by_text(f"+{MOVES * 5} %").first.wait_for()

    steps.button(screen, "When does the menu change?").click()
    first, changes = expected_line(screen)
    assert changes, "a price at which another menu begins to pay"
    screen.main().get_by_text(first).first.wait_for(timeout=steps.PLAN_MS)
    chart = screen.main().get_by_test_id("stVegaLiteChart").last
    for price in changes:
        chart.get_by_text(f"changes at {price}").first.wait_for()
    assert chart.get_by_text(re.compile(r"^price, AUD ")).count() == 1
    screen.settle()
    is_in_order(screen, "line")

    write = steps.button(screen, "Write down a price")
    screen.wait_until(lambda: write.count() == 1)  # at the end of a search all is drawn again
    screen.settle()
    write.click()
    page.get_by_label("Price of the pack, AUD").fill("9.90")
    steps.button(screen, "Save the price").click()
    screen.wait_until(lambda: "9.90" in steps.head_message(screen))
    with Store.open(screen.server.store) as store:
        offers = store.read().cafe.offers_of["squash"]
    assert any(990 in [one.price_cents for one in offer.prices] for offer in offers)


def expected_line(screen: Screen) -> tuple[str, list[str]]:
    """What the engine says apart from the page: the sentence, prices at which a menu ends."""
    plan, _ = steps.plan_and_cafe(screen)
    with Store.open(screen.server.store) as store:
        reading = read_document(store.document(1))
    week = week_of(reading.cafe, reading.rules, date.today())
    found = breakpoints(week, plan, "squash")
    currency = reading.cafe.currency
    ends = [money_text(found.today_cents * one.high, currency) for one in found.pieces[:-1]]
    return found.sentences(currency)[0], ends


def test_an_amount_in_a_recipe_is_typed_into_its_table(easy_planned: Server, opens: Opens) -> None:
    screen = opens(easy_planned, "desktop", "recipe")
    screen.open("dishes")
    screen.page.get_by_role("combobox", name=re.compile("^Dish")).click()
    screen.press(screen.page.get_by_role("option", name="Roast squash"))
    steps.edit_cell(screen, 2, 0, "3.1")
    screen.shot("edited")
    screen.press(steps.button(screen, re.compile("^Save")))
    with Store.open(screen.server.store) as store:
        head = store.head()
        assert head is not None
        rows = rows_of(store.document(head.id), "recipe_lines.csv")
    assert [row["qty"] for row in rows if row["dish"] == "roast"] == ["3.1"]
