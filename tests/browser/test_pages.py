"""Each of the eight pages in a real browser, on a desk and on a phone, with the sample cafe."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from optimiser.document import folder_document
from optimiser.planner import plan_week
from optimiser.search import Effort
from optimiser.store import Store
from tests.benchmarks.measure import SAMPLE, named_week
from tests.browser.conftest import Opens
from tests.browser.screen import SIZES, Screen
from tests.browser.server import Server, serving

PAGES = ("week", "rules", "larder", "prices", "dishes", "why", "sheets", "settings")


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on the sample cafe, a plan of its week kept."""
    folder = tmp_path_factory.mktemp("planned")
    with Store.open(folder / "cafe.db", create=True) as store:
        first = store.save(folder_document(SAMPLE), "anna", "the sample", None)
        outcome = plan_week(named_week("sample"), Effort(60, work=1))
        assert outcome.plan is not None
        store.add_plan(outcome.plan, first.id, "anna")
    with serving(folder) as server:
        yield server


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("path", PAGES)
def test_a_page_opens_fits_and_can_be_used_by_everybody(
    planned: Server, opens: Opens, path: str, size: str
) -> None:
    from tests.browser.accessible import nameless, violations

    screen = opens(planned, size, path)
    screen.open(path)
    screen.shot("open")
    assert screen.page.get_by_role("heading").count(), "a page without a heading"
    screen.check()
    assert screen.too_wide() == []
    assert violations(screen.page) == []
    assert nameless(screen.page) == []
