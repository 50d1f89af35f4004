"""The watch that the other tests keep does see what it watches for."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.accessible import nameless, violations
from tests.browser.conftest import Opens
from tests.browser.screen import Screen
from tests.browser.server import Server, serving

SCRIPT = """
import streamlit as st

st.title("All is well")
what = st.query_params.get("what")
if what == "wide":
    st.html('<p style="width: 2000px">wide</p>')
if what == "scrolls":
    st.html('<div style="overflow-x: auto"><p style="width: 2000px">wide</p></div>')
if what == "nameless":
    st.html('<button></button>')
if what == "pale":
    st.html('<p style="color: #ddd; background: #fff">pale</p>')
if what == "outside":
    st.html('<img alt="x" src="http://192.0.2.1/x.png">')
if what == "boom":
    raise ValueError("boom")
"""


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A page that does what it is asked to do wrong."""
    folder = tmp_path_factory.mktemp("odd")
    script = folder / "odd.py"
    script.write_text(SCRIPT)
    with serving(folder, script) as server:
        yield server


@pytest.fixture
def screen(odd: Server, opens: Opens) -> Screen:
    return opens(odd, "phone", "odd")


def findings(screen: Screen) -> dict[str, list[str]]:
    """What each look at the page says."""
    page = screen.page
    return {"wide": screen.too_wide(), "nameless": nameless(page), "axe": violations(page)}


def test_nothing_is_found_where_all_is_well(screen: Screen) -> None:
    screen.open()
    assert findings(screen) == {"wide": [], "nameless": [], "axe": []}
    screen.open("?what=scrolls")
    assert screen.too_wide() == []


@pytest.mark.parametrize(
    ("what", "look", "says"),
    [
        ("wide", "wide", "wide"),
        ("nameless", "nameless", "<button>"),
        ("nameless", "axe", "button-name"),
        ("pale", "axe", "color-contrast"),
    ],
)
def test_what_sticks_out_has_no_name_or_is_pale_is_found(
    screen: Screen, what: str, look: str, says: str
) -> None:
    screen.open(f"?what={what}")
    assert any(says in one for one in findings(screen)[look])


@pytest.mark.parametrize(
    ("what", "says"), [("boom", "exception"), ("outside", "a request left the machine")]
)
def test_an_exception_and_a_request_to_elsewhere_fail_a_test(
    screen: Screen, what: str, says: str
) -> None:
    screen.open(f"?what={what}")
    with pytest.raises(AssertionError, match=says):
        screen.check()
    screen.open()
    screen.forget()
