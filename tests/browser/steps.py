"""What a person does on the pages, step by step, and how the test sees that it is done."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from openpyxl import load_workbook

from optimiser.cafe import Cafe
from optimiser.document import read_document
from optimiser.plan import Plan
from optimiser.reports import REPORTS
from optimiser.store import Store
from tests.browser.screen import Screen

if TYPE_CHECKING:
    from openpyxl import Workbook
    from playwright.sync_api import Download, Locator

PLAN_MS = 150_000
"""How long a search on a busy machine may take until it has a week, or has let go of one."""

EDITOR_MS = 150
"""The table takes up a value so long after the last key; it has no other sign of that."""


def head_message(screen: Screen) -> str:
    """What was saved last."""
    with Store.open(screen.server.store) as store:
        head = store.head()
    assert head is not None
    return head.message


def button(screen: Screen, name: str | re.Pattern[str]) -> Locator:
    """A button by its words."""
    return screen.page.get_by_role("button", name=name)


def go_to(screen: Screen, title: str) -> None:
    """Another page, by the navigation, as that looks at this size."""
    menu = screen.page.get_by_test_id("stExpandSidebarButton")
    if menu.is_visible():
        menu.click()
    screen.press(screen.page.get_by_role("link", name=title, exact=True))


def start_planning(screen: Screen, label: str = "Plan the week") -> None:
    """Press the button and wait until there is a week that could be kept."""
    button(screen, label).click()
    screen.page.get_by_text("best so far").wait_for(timeout=PLAN_MS)


def stop(screen: Screen) -> None:
    """Stop the search; the best week so far is checked, kept and shown."""
    before = _plans(screen)
    button(screen, "Stop, keep the best").click()
    screen.main().locator(".watch").wait_for(state="hidden", timeout=PLAN_MS)
    trays(screen).first.wait_for()
    screen.settle()
    assert _plans(screen) == before + 1, "the week that was found was not kept"


def _plans(screen: Screen) -> int:
    with Store.open(screen.server.store) as store:
        return len(store.plans())


def trays(screen: Screen) -> Locator:
    """The dishes in the cabinet that can be seen: on a phone those of one day."""
    return screen.page.locator(".cabinet .tray:visible")


def pick(screen: Screen, tray: Locator) -> Locator:
    """Press a dish; the dialog about it."""
    tray.click()
    dialog = screen.page.get_by_role("dialog")
    dialog.wait_for()
    return dialog


def keep(screen: Screen, tray: Locator) -> str:
    """Keep a dish on its day; the message of that edit, such as `Keep Soup on Mon 30 Nov`."""
    message = press_keep(screen, pick(screen, tray))
    tray.get_by_text("kept").wait_for()
    assert head_message(screen) == message
    return message


def press_keep(screen: Screen, dialog: Locator) -> str:
    """Press `Keep on ...` in the dialog of a dish; the message that the edit should have."""
    name = dialog.get_by_role("heading").nth(1).inner_text()
    wish = dialog.get_by_role("button", name=re.compile("^Keep on "))
    message = f"Keep {name} {wish.inner_text().removeprefix('Keep ')}"
    wish.click()
    dialog.wait_for(state="hidden")
    return message


def kept_dishes(screen: Screen) -> int:
    """How many dishes the saved rules keep on a day."""
    with Store.open(screen.server.store) as store:
        return sum(rule.kind == "pin" for rule in store.read().rules)


def edit_cell(screen: Screen, column: int, row: int, value: str) -> None:
    """Type into a cell of a table that is edited in place, by keyboard as anybody would."""
    cell = screen.page.get_by_test_id(f"glide-cell-{column}-{row}")
    cell.wait_for(state="attached")

    def chosen() -> bool:
        cell.focus()
        return cell.get_attribute("aria-selected") == "true"

    screen.wait_until(chosen)
    screen.page.keyboard.press("Enter")
    box = screen.page.locator("#portal").locator("input, textarea").first
    box.fill(value)
    screen.page.wait_for_timeout(EDITOR_MS)
    runs = screen.runs
    screen.page.keyboard.press("Enter")
    screen.wait_until(lambda: screen.runs > runs)
    screen.settle()


def gain(said: str) -> float:
    """What a swap is said to earn (money): `costs $3.20` is -3.2."""
    found = re.search(r"(costs|earns) \D?([\d,.]+)", said)
    if found is None:
        assert "the same margin" in said, said
        return 0.0
    return float(found[2].replace(",", "")) * (-1 if found[1] == "costs" else 1)


def stock(screen: Screen) -> dict[str, float]:
    """Lot -> its quantity, in its own unit, as saved."""
    with Store.open(screen.server.store) as store:
        return {lot.id: lot.qty for lot in store.read().cafe.stock}


def plan_and_cafe(screen: Screen) -> tuple[Plan, Cafe]:
    """The plan kept last, and the cafe of the revision that it was made of."""
    with Store.open(screen.server.store) as store:
        kept = store.plans()[-1]
        return kept.plan, read_document(store.document(kept.revision)).cafe


def read_book(download: Download) -> Workbook:
    """A workbook that was downloaded."""
    assert download.suggested_filename.endswith("week.xlsx")
    with open(download.path(), "rb") as file:
        return load_workbook(file)


def book_differences(book: Workbook, plan: Plan, cafe: Cafe) -> list[str]:
    """Where a workbook says something else than the reports of a plan; empty: nowhere."""
    found = []
    for sheet, report in zip(book.worksheets[1:], REPORTS, strict=True):
        rows = report.rows(plan, cafe)
        lines = list(sheet.iter_rows(min_row=2, values_only=True))
        if len(lines) != len(rows):
            found.append(f"{sheet.title}: {len(lines)} lines of {len(rows)} rows")
        for number, (line, row) in enumerate(zip(lines, rows, strict=False), 2):
            found += [
                f"{sheet.title} row {number}, {column}: {cell!r}, the report {row[column]!r}"
                for cell, column in zip(line, report.columns, strict=True)
                if not _same(cell, row[column], column)
            ]
    return found


def _same(cell: Any, reported: Any, column: str) -> bool:
    if isinstance(reported, date):
        return bool(cell == datetime(reported.year, reported.month, reported.day))
    if isinstance(reported, int | float | Decimal) and not isinstance(reported, bool):
        share = 100 if column.endswith("_pct") else 1
        return isinstance(cell, int | float) and abs(cell * share - float(reported)) < 1e-6
    return cell == (reported or None)
