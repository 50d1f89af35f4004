"""The main path by keyboard alone: Tab and Enter, and the space bar where a choice wants it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.browser import steps
from tests.browser.conftest import Opens
from tests.browser.screen import Screen
from tests.browser.server import Server

if TYPE_CHECKING:
    from playwright.sync_api import Locator

MOST_TABS = 150
RING = """(one) => {
  const look = getComputedStyle(one);
  return look.outlineStyle === 'none' ? look.boxShadow : look.outline;
}"""
HAS_FOCUS = "(one) => one === document.activeElement"


def tab_to(screen: Screen, wanted: Locator) -> None:
    """Tab until the wanted thing has the focus, and it can be seen that it has."""
    wanted.wait_for()
    plain = wanted.evaluate(RING)
    for _ in range(MOST_TABS):
        screen.page.keyboard.press("Tab")
        if wanted.evaluate(HAS_FOCUS):
            break
    else:
        raise AssertionError(f"{wanted} is not reached with {MOST_TABS} tabs")
    assert wanted.evaluate(RING) != plain, f"{wanted} has the focus, and nobody can see it"


def test_plan_keep_and_take_the_order_list_without_a_mouse(busy: Server, opens: Opens) -> None:
    screen = opens(busy, "desktop", "keyboard")

    def enter() -> None:
        screen.page.keyboard.press("Enter")

    screen.open()
    tab_to(screen, steps.button(screen, "Plan the week"))
    enter()
    screen.page.get_by_text("best so far").wait_for(timeout=steps.PLAN_MS)
    tab_to(screen, steps.button(screen, "Stop, keep the best"))
    enter()
    screen.main().locator(".watch").wait_for(state="hidden", timeout=steps.PLAN_MS)
    tray = steps.trays(screen).first
    tab_to(screen, tray)
    enter()
    keep = screen.page.get_by_role("dialog").get_by_role("button", name="Keep on")
    tab_to(screen, keep)
    enter()
    tray.get_by_text("kept").wait_for()
    screen.settle()
    assert steps.kept_dishes(screen) == 1

    tab_to(screen, screen.page.get_by_role("link", name="Sheets", exact=True))
    enter()
    download = steps.button(screen, "Spreadsheet (XLSX)")
    tab_to(screen, download)
    with screen.page.expect_download() as coming:
        enter()
    book = steps.read_book(coming.value)
    assert steps.book_differences(book, *steps.plan_and_cafe(screen)) == []
