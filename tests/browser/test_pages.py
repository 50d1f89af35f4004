"""Each of the eight pages in a real browser, on a desk and on a phone, with the sample cafe."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.conftest import Opens
from tests.browser.screen import SIZES
from tests.browser.server import Server, serving

PAGES = ("", "rules", "larder", "prices", "dishes", "why", "sheets", "settings")
"""By address; the week is the page that opens by itself."""


@pytest.fixture(scope="module")
def read_only(tmp_path_factory: pytest.TempPathFactory, sample_store: Path) -> Iterator[Server]:
    """One server for all pages: these tests look and change nothing."""
    folder = tmp_path_factory.mktemp("pages")
    shutil.copy(sample_store, folder / "cafe.db")
    with serving(folder) as server:
        yield server


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("path", PAGES)
def test_a_page_opens_fits_and_can_be_used_by_everybody(
    read_only: Server, opens: Opens, path: str, size: str
) -> None:
    from tests.browser.accessible import nameless, violations

    screen = opens(read_only, size, path or "week")
    screen.open(path)
    screen.shot("open")
    screen.whole_shot("whole")
    screen.settle()
    screen.check()
    assert screen.page.get_by_role("heading").count(), "a page without a heading"
    assert screen.too_wide() == []
    assert violations(screen.page) == []
    assert nameless(screen.page) == []
