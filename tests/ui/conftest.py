"""Stores for the pages' tests: one just made, one with a verified plan kept."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from optimiser.document import folder_document
from optimiser.planner import plan_week
from optimiser.present import week_of
from optimiser.search import Effort
from optimiser.store import Store
from tests.cafe_folder import FILES, write_folder

TODAY = date(2026, 11, 25)


@pytest.fixture
def page_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file of a store that pages use: the test bench cafe, which plans in a moment."""
    place = tmp_path / "cabinet.db"
    folder = write_folder(tmp_path / "cafe", cafe=FILES["cafe"])
    with Store.open(place, create=True) as store:
        store.save(folder_document(folder), "Ada", "The bench", None)
    monkeypatch.setenv("CABINET_STORE", str(place))
    st.cache_resource.clear()
    return place


@pytest.fixture
def planned_store(page_store: Path) -> Path:
    """The same with a verified plan of its week kept."""
    with Store.open(page_store) as store:
        held = store.held()
        week = week_of(held.reading.cafe, held.reading.rules, TODAY)
        plan = plan_week(week, Effort(work=1)).plan
        assert plan is not None and held.revision is not None
        store.add_plan(plan, held.revision, "Ada")
    return page_store


@pytest.fixture(autouse=True)
def _errors_are_told() -> None:
    """A page hides what went wrong; a failing test should not."""
    st.set_option("client.showErrorDetails", "full")


@pytest.fixture(autouse=True)
def _main_module_stays() -> Iterator[None]:
    """AppTest puts its script in the place of __main__, which later processes would run."""
    main = sys.modules["__main__"]
    yield
    sys.modules["__main__"] = main


def _call(module: str) -> None:
    import importlib  # the function's text is run by itself

    importlib.import_module(module).page()


@pytest.fixture
def open_page() -> Callable[[str], AppTest]:
    """`open_page("week")`: that page, run once. Run again with `.run()`."""

    def opened(name: str) -> AppTest:
        test = AppTest.from_function(_call, args=(f"optimiser.ui.{name}_page",))
        return test.run(timeout=30)

    return opened
