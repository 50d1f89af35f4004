"""The lock of the page: passwords, waits, who may sign in, what needs a lock."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from optimiser import lock
from optimiser.lock import Lock, LockFault, Tries, is_this_machine, read_lock, read_secrets

PASSWORD = "flour on my hands"


def test_a_password_of_the_environment_opens_and_another_does_not():
    found = read_lock({"CABINET_PASSWORD": PASSWORD}, {})
    assert found.is_set and found.asks_password and found.opens(PASSWORD)
    assert not found.opens(PASSWORD.title()) and not found.opens("") and not found.opens("\ud800")


def test_no_password_opens_nothing():
    found = read_lock({"CABINET_PASSWORD": ""}, {})
    assert found == Lock() and not found.is_set and not found.opens("")


def test_a_hash_fits_its_password_only_and_never_shows_it():
    kept = lock.make_hash(PASSWORD)
    assert PASSWORD not in kept and kept != lock.make_hash(PASSWORD)
    found = read_lock({}, {"door": {"password_hash": kept}})
    assert found.opens(PASSWORD) and not found.opens(PASSWORD + " ")
    assert kept not in repr(found) and PASSWORD not in repr(Lock(PASSWORD))


@pytest.mark.parametrize(
    ("environment", "kept", "words"),
    [
        ({"CABINET_PASSWORD": "short"}, {}, "at least 10"),
        ({}, {"door": {"password_hash": "secret"}}, "--make-hash"),
        ({}, {"door": {"password_hash": "scrypt$AAAA$AAAA"}}, "--make-hash"),
        ({}, {"door": {"password_hash": 7}}, "--make-hash"),
        ({}, {"door": "open"}, "a table"),
        ({}, {"door": {"people": "anna@example.org"}, "auth": {}}, "as a list"),
        ({}, {"auth": {"client_id": "x"}}, "who may come in"),
    ],
)
def test_a_lock_set_up_wrongly_is_explained(environment: Any, kept: Any, words: str):
    with pytest.raises(LockFault, match=words) as found:
        read_lock(environment, kept)
    assert "secret" not in str(found.value).replace("secrets.toml", "")


def test_only_people_on_the_list_come_in_and_only_with_a_verified_address():
    found = read_lock({}, {"auth": {}, "door": {"people": ["Anna@example.org", "id-7"]}})
    assert found.is_set and not found.asks_password
    assert found.knows({"email": "anna@EXAMPLE.org", "email_verified": True})
    assert found.knows({"sub": "id-7"})
    assert not found.knows({"email": "anna@example.org", "email_verified": False})
    assert not found.knows({"email": "anna@example.org"})
    assert not found.knows({"email": "ben@example.org", "email_verified": True, "sub": ""})
    assert not Lock(people=()).knows({"email": "", "sub": "", "email_verified": True})


def test_people_count_only_where_signing_in_is_set_up():
    assert not read_lock({}, {"door": {"people": ["anna@example.org"]}}).is_set


@pytest.mark.parametrize("address", ["localhost", "127.0.0.1", "127.9.0.1", "::1", "[::1]"])
def test_this_machine(address: str):
    assert is_this_machine(address)


@pytest.mark.parametrize("address", [None, "", "0.0.0.0", "::", "192.168.1.7", "cafe.example"])
def test_elsewhere(address: str | None):
    assert not is_this_machine(address)


def test_after_a_few_failures_each_wait_is_twice_the_one_before():
    now = [0.0]
    tries = Tries(clock=lambda: now[0])
    for _ in range(lock.FREE_TRIES):
        assert tries.wait_s("a") == 0
        assert not tries.attempt("a", lambda: False)
    assert tries.wait_s("a") == 2 and tries.wait_s("b") == 0
    asked: list[str] = []
    assert not tries.attempt("a", lambda: bool(asked.append("x")) or True)
    assert asked == []  # not even asked while it has to wait
    now[0] = 2
    assert not tries.attempt("a", lambda: False) and tries.wait_s("a") == 4
    for _ in range(40):
        now[0] += lock.LONGEST_WAIT_S
        tries.attempt("a", lambda: False)
    assert tries.wait_s("a") == lock.LONGEST_WAIT_S
    now[0] += lock.LONGEST_WAIT_S
    assert tries.attempt("a", lambda: True) and tries.wait_s("a") == 0


def test_tries_come_one_at_a_time():
    tries, inside, most = Tries(), [0], [0]

    def opens() -> bool:
        inside[0] += 1
        most[0] = max(most[0], inside[0])
        threading.Event().wait(0.01)
        inside[0] -= 1
        return False

    threads = [threading.Thread(target=tries.attempt, args=(str(n), opens)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most == [1]


def test_callers_are_forgotten_before_they_are_too_many(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(lock, "MOST_CALLERS", 3)
    tries = Tries(clock=lambda: 0.0)
    for n in range(9):
        tries.attempt(str(n), lambda: False)
    assert len(tries._failures) == 3


def test_secrets_of_a_later_folder_go_first_and_a_torn_file_is_not_quoted(tmp_path: Path):
    first, second = tmp_path / "a", tmp_path / "b"
    for folder, text in ((first, "[door]\nx = 1\n[auth]\ny = 1\n"), (second, "[door]\nx = 2\n")):
        (folder / ".streamlit").mkdir(parents=True)
        (folder / lock.SECRETS).write_text(text, encoding="utf-8")
    assert read_secrets([first, second, tmp_path / "none"]) == {"door": {"x": 2}, "auth": {"y": 1}}
    (second / lock.SECRETS).write_text('password = "hush', encoding="utf-8")
    with pytest.raises(LockFault) as found:
        read_secrets([second])
    assert "hush" not in str(found.value)
