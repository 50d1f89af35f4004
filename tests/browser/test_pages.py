"""Each of the eight pages in a real browser, on a desk and on a phone, with the sample cafe."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.conftest import Opens
from tests.browser.kept import keep_planned_sample
from tests.browser.screen import SIZES
from tests.browser.server import Server, serving

PAGES = ("", "rules", "larder", "prices", "dishes", "why", "sheets", "settings")
"""By address; the week is the page that opens by itself."""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on the sample cafe, a plan of its week kept."""
    folder = tmp_path_factory.mktemp("planned")
    keep_planned_sample(folder / "cafe.db")
    with serving(folder) as server:
        yield server


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("path", PAGES)
def test_a_page_opens_fits_and_can_be_used_by_everybody(
    planned: Server, opens: Opens, path: str, size: str
) -> None:
    from tests.browser.accessible import nameless, violations

    screen = opens(planned, size, path or "week")
    screen.open(path)
    screen.shot("open")
    screen.check()
    assert screen.page.get_by_role("heading").count(), "a page without a heading"
    assert screen.too_wide() == []
    assert violations(screen.page) == []
    assert nameless(screen.page) == []
