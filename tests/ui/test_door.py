"""The door: open on this computer, closed elsewhere without a lock, slow after failures."""

from __future__ import annotations

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from optimiser.ui import door

PASSWORD = "flour on my hands"


def _script() -> None:
    import streamlit as st

    from optimiser.ui import door

    door.require_door()
    st.write(f"inside as {door.signed_in() or 'nobody'}")


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CABINET_PASSWORD", raising=False)
    monkeypatch.setattr(door, "_folders", lambda: ())
    monkeypatch.setattr(door, "_tries", door.Tries())
    served(monkeypatch, "127.0.0.1")


def served(monkeypatch: pytest.MonkeyPatch, address: str | None, **headers: str) -> None:
    """As if the page were served on an address and asked for with headers."""
    monkeypatch.setattr(door.st, "get_option", lambda _: address)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    context = SimpleNamespace(headers=named, ip_address="192.0.2.9")
    monkeypatch.setattr(door.st, "context", context)


def opened() -> AppTest:
    test = AppTest.from_function(_script).run()
    assert not test.exception
    return test


def inside(test: AppTest) -> bool:
    return any("inside as" in one.value for one in test.markdown)


def come_in(test: AppTest, password: str, name: str = "") -> AppTest:
    test.text_input[0].set_value(name)
    test.text_input[1].set_value(password)
    return test.button[0].click().run()


def test_on_this_computer_the_door_is_open():
    assert inside(opened())


@pytest.mark.parametrize("address", ["0.0.0.0", None, "192.168.1.7"])
def test_elsewhere_without_a_lock_nothing_is_served(
    address: str | None, monkeypatch: pytest.MonkeyPatch
):
    served(monkeypatch, address)
    test = opened()
    assert not inside(test) and "CABINET_PASSWORD" in test.error[0].value


@pytest.mark.parametrize(
    "headers", [{"Host": "cafe.example"}, {"Host": "localhost:8501", "X_Forwarded_For": "1.2.3.4"}]
)
def test_whoever_comes_through_a_proxy_or_tunnel_is_from_elsewhere(
    headers: dict[str, str], monkeypatch: pytest.MonkeyPatch
):
    served(monkeypatch, "127.0.0.1", **headers)
    assert not inside(opened())
    served(monkeypatch, "127.0.0.1", Host="localhost:8501")
    assert inside(opened())


def test_the_password_opens_and_the_name_is_kept(monkeypatch: pytest.MonkeyPatch):
    served(monkeypatch, "0.0.0.0")
    monkeypatch.setenv("CABINET_PASSWORD", PASSWORD)
    test = opened()
    assert not inside(test)
    test = come_in(test, PASSWORD, "  Anna   Example ")
    assert [one.value for one in test.markdown] == ["inside as Anna Example"]
    assert inside(test.run())


def test_a_password_that_is_set_is_asked_for_at_home_too(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("CABINET_PASSWORD", PASSWORD)
    assert not inside(opened())


def test_wrong_passwords_stay_out_and_have_to_wait(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("CABINET_PASSWORD", PASSWORD)
    for _ in range(3):
        test = come_in(opened(), "wrong")
        assert not inside(test) and "did not open" in test.error[0].value
    assert "Try again in 2 seconds" in test.error[0].value
    assert not inside(come_in(opened(), PASSWORD))  # a new browser does not help


def test_a_lock_set_up_wrongly_keeps_everybody_out(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("CABINET_PASSWORD", "short")
    test = opened()
    assert not inside(test) and "at least 10" in test.error[0].value


@pytest.fixture
def signing_in(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """`signing_in(email=..., ...)`: as if that person were signed in; without: nobody."""
    kept = {"auth": {}, "door": {"people": ["anna@example.org"]}}
    monkeypatch.setattr(door, "read_secrets", lambda _: kept)
    monkeypatch.setattr(door.importlib.util, "find_spec", lambda _: object())

    def person(**claims: Any) -> None:
        user = SimpleNamespace(
            is_logged_in=bool(claims), to_dict=lambda: claims, get=lambda key: claims.get(key)
        )
        monkeypatch.setattr(door.st, "user", user)

    return person


def test_who_is_not_signed_in_is_asked_to(signing_in: Callable[..., None]):
    signing_in()
    test = opened()
    assert not inside(test) and [one.label for one in test.button] == ["Sign in"]


def test_who_is_signed_in_and_on_the_list_comes_in(signing_in: Callable[..., None]):
    signing_in(email="anna@example.org", email_verified=True, name="Anna", sub="7")
    assert opened().markdown[0].value == "inside as Anna"


def test_who_is_not_on_the_list_stays_out_and_sees_why(signing_in: Callable[..., None]):
    signing_in(email="ben@example.org", email_verified=True, sub="8")
    test = opened()
    assert not inside(test) and "not on the list" in test.error[0].value
    assert "id 8" in test.text[0].value


def test_without_the_package_for_it_signing_in_says_what_to_install(
    signing_in: Callable[..., None], monkeypatch: pytest.MonkeyPatch
):
    signing_in()
    monkeypatch.setattr(door.importlib.util, "find_spec", lambda _: None)
    test = opened()
    assert not inside(test) and "Authlib" in test.error[0].value
