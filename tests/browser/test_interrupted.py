"""What must not be lost: a search while the page is reloaded, left or cut off, and the edits
of two people at once."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tests.browser import steps
from tests.browser.accessible import is_in_order
from tests.browser.conftest import Opens
from tests.browser.screen import Screen
from tests.browser.server import Server

if TYPE_CHECKING:
    from playwright.sync_api import WebSocketRoute

WIRE = re.compile("/_stcore/stream")
CUT_OFF = 1011
"""What the browser is told when its connection breaks."""


def test_a_search_goes_on_while_the_page_is_reloaded_left_and_cut_off(
    busy: Server, opens: Opens
) -> None:
    screen = opens(busy, "desktop", "interrupted")
    wires: list[tuple[WebSocketRoute, WebSocketRoute]] = []
    screen.page.route_web_socket(WIRE, lambda here: wires.append((here, here.connect_to_server())))
    screen.open()
    steps.start_planning(screen)

    screen.page.reload()
    seconds = _seconds(screen)

    steps.go_to(screen, "Rules")
    steps.go_to(screen, "The week")
    assert _seconds(screen) >= seconds

    connected = len(wires)
    for end in wires[-1]:
        end.close(code=CUT_OFF)
    screen.wait_until(lambda: len(wires) > connected)
    seconds = _seconds(screen)
    screen.wait_until(lambda: _seconds(screen) > seconds)
    screen.faults = [one for one in screen.faults if "when disconnected from server" not in one]

    steps.stop(screen)
    assert steps.plan_and_cafe(screen)[0].verified


def _seconds(screen: Screen) -> int:
    """How long the search has run, as the page says."""
    said = screen.page.locator(".watch").filter(has_text="best so far").inner_text()
    found = re.search(r"(\d+) s\b", said)
    assert found, said
    return int(found[1])


def test_of_two_people_at_once_neither_loses_an_edit(busy_planned: Server, opens: Opens) -> None:
    anna = opens(busy_planned, "desktop", "two", who="anna")
    ben = opens(busy_planned, "phone", "two", who="ben")
    for screen in (anna, ben):
        screen.open()
    dialog = steps.pick(anna, steps.trays(anna).nth(1))
    theirs = steps.keep(ben, steps.trays(ben).first)

    mine = steps.press_keep(anna, dialog)
    late = anna.main().get_by_text("Not saved yet, and not lost")
    late.wait_for()
    anna.settle()
    is_in_order(anna, "late")
    assert anna.main().get_by_text(theirs).count(), "what changed meanwhile is not said"
    assert steps.head_message(anna) == theirs

    steps.button(anna, "Save mine on top").click()
    late.wait_for(state="hidden")
    anna.wait_until(lambda: steps.head_message(anna) == mine)
    anna.main().locator(".tray", has_text="kept").nth(1).wait_for()
    assert steps.kept_dishes(anna) == 2
