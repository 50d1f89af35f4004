"""Each of the eight pages in a real browser, on a desk and on a phone, with the sample cafe."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.accessible import is_in_order
from tests.browser.conftest import Opens
from tests.browser.kept import SAMPLE, keep_planned
from tests.browser.screen import SIZES
from tests.browser.server import Server, serving

PAGES = ("", "rules", "larder", "prices", "dishes", "why", "sheets", "settings")
"""By address; the week is the page that opens by itself."""


@pytest.fixture(scope="module")
def read_only(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The sample cafe with a plan; one server for all pages, whose tests change nothing."""
    folder = tmp_path_factory.mktemp("pages")
    keep_planned(folder / "cafe.db", SAMPLE)
    with serving(folder) as server:
        yield server


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("path", PAGES)
def test_a_page_opens_fits_and_can_be_used_by_everybody(
    read_only: Server, opens: Opens, path: str, size: str
) -> None:
    screen = opens(read_only, size, path or "week")
    screen.open(path)
    assert screen.page.get_by_role("heading").count(), "a page without a heading"
    screen.whole_shot("whole")
    screen.settle()
    is_in_order(screen, "open")


def test_the_week_has_a_name_as_well(read_only: Server, opens: Opens) -> None:
    screen = opens(read_only, "desktop", "named")
    screen.open()
    by_itself = screen.main().inner_text()
    screen.open("week")
    assert screen.page.locator(".cabinet:visible").count()
    assert screen.main().inner_text() == by_itself
    names = screen.page.get_by_role("link", name="The week")
    assert names.count() == 1, "it stands in the menu once"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("path", "parts"), [("larder", 3), ("sheets", 6), ("settings", 9), ("dishes", 1)]
)
def test_so_does_each_part_of_a_page(
    read_only: Server, opens: Opens, path: str, parts: int, size: str
) -> None:
    screen = opens(read_only, size, path)
    screen.open(path)
    choices = screen.page.get_by_role("radiogroup").first.get_by_role("radio")
    names = choices.all_inner_texts()
    assert len(names) == parts + 1
    for name in names[1:]:
        screen.press(choices.get_by_text(name, exact=True))
        is_in_order(screen, name.lower().replace(" ", "-"))


@pytest.mark.parametrize("size", SIZES)
def test_so_do_the_dialogs_of_the_week_and_the_form_of_a_rule(
    read_only: Server, opens: Opens, size: str
) -> None:
    screen = opens(read_only, size, "dialog")
    screen.open()
    for what in (".tray", ".head"):
        screen.press(screen.page.locator(f".cabinet {what}:visible").first)
        screen.page.get_by_role("dialog").wait_for()
        is_in_order(screen, what[1:])
        screen.page.keyboard.press("Escape")
        screen.page.get_by_role("dialog").wait_for(state="hidden")
    screen.page.locator("details:visible > summary").first.click()
    is_in_order(screen, "sums")
    screen.open("rules")
    screen.press(screen.page.get_by_role("button", name="No dish comes back sooner"))
    is_in_order(screen, "rule")
    screen.press(screen.page.get_by_role("button", name="Add a rule"))
    is_in_order(screen, "add-rule")
