"""The door: on this computer it is open, elsewhere nobody comes in without a key."""

from __future__ import annotations

import importlib.util
import math
import os
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn
from urllib.parse import urlsplit

import streamlit as st

from optimiser.lock import NO_LOCK, Lock, LockFault, Tries, is_this_machine, read_lock, read_secrets

OPEN, NAME = "door_open", "door_name"
LONGEST_NAME = 80
NEEDS_AUTHLIB = (
    "Signing in needs the Python package Authlib: `pip install 'cabinet-week[login]'`, "
    "then start the page again."
)
FORWARDED = ("Forwarded", "X-Forwarded-For", "X-Forwarded-Host")
"""Headers by which a proxy says that it passes on what somebody elsewhere asked."""

_tries = Tries()


def require_door() -> None:
    """Let nobody past who may not see the page; called before anything of it is shown."""
    try:
        lock = read_lock(os.environ, read_secrets(_folders()))
    except LockFault as fault:
        _refuse(str(fault))
    if st.session_state.get(OPEN):
        return
    if not lock.is_set:
        if _only_here():
            return
        _refuse(NO_LOCK)
    _ask(lock)


def signed_in() -> str:
    """The name of who came in through the door; empty where nobody gave one."""
    given = str(st.session_state.get(NAME, ""))
    if not given and getattr(st.user, "is_logged_in", False):
        given = str(st.user.get("name") or st.user.get("email") or "")
    return " ".join(given.split())[:LONGEST_NAME]


def may_leave() -> bool:
    """Whether there is a door to close behind oneself."""
    return bool(st.session_state.get(OPEN))


def leave() -> None:
    """Close the door again for this browser."""
    st.session_state.clear()
    if getattr(st.user, "is_logged_in", False):
        st.logout()


def _folders() -> Iterable[Path]:
    """Where Streamlit looks for secrets: at home, then where it was started."""
    return (Path.home(), Path.cwd())


def _only_here() -> bool:
    """Whether only this computer can have asked."""
    headers = st.context.headers
    host = urlsplit(f"//{headers.get('Host', 'localhost')}").hostname
    passed_on = any(name in headers for name in FORWARDED)
    address: str | None = st.get_option("server.address") or None
    return is_this_machine(address) and is_this_machine(host) and not passed_on


def _refuse(why: str) -> NoReturn:
    st.title("The page is closed")
    st.error(why)
    st.stop()


def _ask(lock: Lock) -> NoReturn:
    st.title("Who is there?")
    if lock.people:
        _sign_in(lock)
    if lock.asks_password:
        _ask_password(lock)
    st.stop()


def _sign_in(lock: Lock) -> None:
    """OpenID Connect: who is signed in and known goes on at once."""
    if importlib.util.find_spec("authlib") is None:
        st.error(NEEDS_AUTHLIB)
        return
    if not getattr(st.user, "is_logged_in", False):
        st.button("Sign in", on_click=st.login, type="primary", key="door_sign_in")
        return
    user = st.user.to_dict()
    if lock.knows(user):
        _let_in("")
    name, sub = (str(user.get(key) or "unknown") for key in ("email", "sub"))
    st.error("You are signed in, but not on the list of those who may come in.")
    st.text(f"Signed in as {name}, id {sub}")
    st.button("Sign in as somebody else", on_click=st.logout, key="door_sign_out")


def _ask_password(lock: Lock) -> None:
    caller = st.context.ip_address or "here"
    with st.form("door"):
        name = st.text_input(
            "Your name, for the history", max_chars=LONGEST_NAME, autocomplete="name"
        )
        given = st.text_input(
            "Password", type="password", max_chars=1000, autocomplete="current-password"
        )
        if not st.form_submit_button("Come in", type="primary"):
            return
    if _tries.attempt(caller, lambda: lock.opens(given)):
        _let_in(name)
    wait_s = _tries.wait_s(caller)
    after = f" Try again in {math.ceil(wait_s)} seconds." if wait_s else ""
    st.error(f"That did not open the door.{after}")


def _let_in(name: str) -> NoReturn:
    st.session_state[OPEN] = True
    st.session_state[NAME] = name
    st.rerun()
