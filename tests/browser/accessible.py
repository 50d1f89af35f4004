"""What axe-core and the browser's own accessibility tree say of a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.browser.screen import Screen

if TYPE_CHECKING:
    from playwright.sync_api import Page

GRAVE = ("serious", "critical")
FOREIGN: dict[str, tuple[str, ...]] = {}
"""Rule of axe-core -> parts that Streamlit draws itself and we cannot change, with the reason."""

NAMELESS = """() => {
  const found = [];
  const wanted = 'button, input:not([type=hidden]), select, textarea, [role=button], [role=tab],'
    + '[role=checkbox], [role=radio], [role=slider], [role=combobox], a[href]';
  for (const one of document.querySelectorAll(wanted)) {
    if (one.closest('[aria-hidden=true]') || !one.getClientRects().length) continue;
    const ids = (one.getAttribute('aria-labelledby') || '').split(/\\s+/).filter(Boolean);
    const told = [one.getAttribute('aria-label'), one.getAttribute('title'),
      ...ids.map((id) => document.getElementById(id)?.textContent),
      ...[...(one.labels || [])].map((label) => label.textContent),
      ...(one.matches('input, select, textarea') ? [] : [one.textContent]),
      ...[...one.querySelectorAll('img[alt], svg title')].map((i) => i.alt || i.textContent)];
    if (!told.some((text) => text && text.trim())) found.push(one.outerHTML.slice(0, 200));
  }
  return found;
}"""


def violations(page: Page) -> list[str]:
    """The serious and critical violations, a line each, less what `FOREIGN` lists."""
    from axe_playwright_python.sync_playwright import Axe  # where it is missing, nothing runs

    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']} ({one['impact']}): {node['target']} {node['html'][:160]}"
        for one in found
        if one["impact"] in GRAVE
        for node in one["nodes"]
        if not _foreign(page, one["id"], node["target"])
    ]


def _foreign(page: Page, rule: str, target: list[str]) -> bool:
    """Whether the part that breaks a rule lies in one of those that are listed for that rule."""
    listed = ", ".join(FOREIGN.get(rule, ()))
    if not listed or not isinstance(target[-1], str):
        return False
    within: bool = page.evaluate(
        "([part, listed]) => !!document.querySelector(part)?.closest(listed)", [target[-1], listed]
    )
    return within


def nameless(page: Page) -> list[str]:
    """Buttons, links and inputs in sight that say nothing to a screen reader."""
    found: list[str] = page.evaluate(NAMELESS)
    return found


def is_in_order(screen: Screen, part: str) -> None:
    """What holds for every page and each of its parts; a picture of it is kept."""
    screen.settle()  # half faded in, a text has less contrast than it will have
    screen.shot(part)
    screen.check()
    for found in (screen.too_wide(), violations(screen.page), nameless(screen.page)):
        assert not found, f"{part}: {found}"  # no rewriting of asserts here: say it all
