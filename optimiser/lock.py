"""The lock on the page: what opens it, who has to wait, who may come in.

A password comes from the environment, or as a hash from `.streamlit/secrets.toml`; OpenID
Connect from the same file, with the list of those who may come in.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import ipaddress
import secrets
import threading
import time
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

PASSWORD_VARIABLE = "CABINET_PASSWORD"
SHORTEST = 10
"""Characters of a password."""

SECRETS = Path(".streamlit") / "secrets.toml"
MOST_BYTES = 100_000

COST, BLOCK, SALT_BYTES = 2**15, 8, 16
"""Of scrypt (RFC 7914): some 32 MB and a tenth of a second a try."""

FREE_TRIES, LONGEST_WAIT_S, MOST_CALLERS = 3, 300.0, 10_000

NO_LOCK = (
    "The page may be reached from other computers, so it needs a lock. Set a password in the "
    f"environment variable {PASSWORD_VARIABLE} (at least {SHORTEST} characters); or put its hash "
    "into .streamlit/secrets.toml (`python -m optimiser app --make-hash` prints the lines); or "
    "set up OpenID Connect there: [auth], and [door] people = [...]. Or serve it on localhost only."
)


class LockFault(Exception):
    """The lock is set up wrongly; the message says what to mend."""


@dataclass(frozen=True)
class Lock:
    """What opens the page. `people`: mail addresses or ids that may sign in; none: no
    OpenID Connect."""

    password: str = field(default="", repr=False)
    password_hash: str = field(default="", repr=False)
    people: tuple[str, ...] = ()

    @property
    def asks_password(self) -> bool:
        """Whether a password opens it."""
        return bool(self.password or self.password_hash)

    @property
    def is_set(self) -> bool:
        """Whether there is a lock at all."""
        return self.asks_password or bool(self.people)

    def opens(self, given: str) -> bool:
        """Whether this is the password; takes the same time whatever is wrong with it."""
        if self.password_hash:
            return fits_hash(given, self.password_hash)
        return bool(self.password) and same(given, self.password)

    def knows(self, user: Mapping[str, Any]) -> bool:
        """Whether who signed in may come in: by id, or by a mail address that the
        provider has verified."""
        known = {person.casefold() for person in self.people}
        verified = str(user.get("email_verified", "")).lower() == "true"
        mail = str(user.get("email") or "").casefold() if verified else ""
        return bool({str(user.get("sub") or "").casefold(), mail} & known - {""})


def same(given: str, wanted: str) -> bool:
    """Whether two texts agree, found without telling by time where they differ."""
    digests = (hashlib.sha256(text.encode("utf-8", "replace")).digest() for text in (given, wanted))
    return hmac.compare_digest(*digests)


def make_hash(password: str) -> str:
    """What to keep of a password. Raises LockFault if it is too short."""
    _refuse_short(password)
    salt = secrets.token_bytes(SALT_BYTES)
    parts = (base64.b64encode(part).decode() for part in (salt, _scrypt(password, salt)))
    return "$".join(("scrypt", *parts))


def fits_hash(given: str, kept: str) -> bool:
    """Whether `make_hash` made `kept` from this password. Raises LockFault if nothing did."""
    name, *parts = kept.split("$")
    try:
        salt, key = (base64.b64decode(part, validate=True) for part in parts)
    except ValueError as error:
        raise _bad_hash() from error
    if name != "scrypt" or len(salt) != SALT_BYTES:
        raise _bad_hash()
    return hmac.compare_digest(_scrypt(given, salt), key)


def _bad_hash() -> LockFault:
    return LockFault("door.password_hash is none; `python -m optimiser app --make-hash` makes one")


def _scrypt(password: str, salt: bytes) -> bytes:
    text = password.encode("utf-8", "replace")
    return hashlib.scrypt(text, salt=salt, n=COST, r=BLOCK, p=1, maxmem=2 * 128 * COST * BLOCK)


def _refuse_short(password: str) -> None:
    if len(password) < SHORTEST:
        raise LockFault(f"The password is too short; take at least {SHORTEST} characters.")


def read_lock(environment: Mapping[str, str], kept: Mapping[str, Any]) -> Lock:
    """The lock that the environment and the secrets set. Raises LockFault."""
    password = environment.get(PASSWORD_VARIABLE, "")
    if password:
        _refuse_short(password)
    door = kept.get("door", {})
    if not isinstance(door, Mapping):
        raise LockFault("secrets.toml: write [door] as a table")
    password_hash, people = door.get("password_hash", ""), door.get("people", [])
    if not isinstance(password_hash, str):
        raise _bad_hash()
    if password_hash:
        fits_hash("", password_hash)
    if not isinstance(people, list) or not all(isinstance(one, str) and one for one in people):
        raise LockFault('secrets.toml: write door.people as a list, as ["anna@example.org"]')
    if "auth" in kept and not people:
        raise LockFault(
            "secrets.toml sets up OpenID Connect in [auth], but not who may come in; add "
            '[door] with people = ["anna@example.org"]'
        )
    return Lock(password, password_hash, tuple(people) if "auth" in kept else ())


def read_secrets(folders: Iterable[Path]) -> dict[str, Any]:
    """The secrets of these folders together, a later file before an earlier one. Raises
    LockFault."""
    found: dict[str, Any] = {}
    for path in dict.fromkeys((folder / SECRETS).absolute() for folder in folders):
        try:
            if path.is_file():
                text = path.read_bytes()[:MOST_BYTES].decode("utf-8")
                found |= tomllib.loads(text)
        except (OSError, ValueError) as error:  # neither may quote what is in the file
            raise LockFault(f"{SECRETS} cannot be read; mend its text") from error
    return found


def is_this_machine(address: str | None) -> bool:
    """Whether only this computer reaches an address; None stands for every address."""
    if address is None or address.lower() == "localhost":
        return address is not None
    try:
        return ipaddress.ip_address(address.strip("[]")).is_loopback
    except ValueError:
        return False


class Tries:
    """Wrong passwords by caller: after a few each wait is twice the one before."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._failures: dict[str, tuple[int, float]] = {}
        self._turn = threading.Lock()

    def wait_s(self, caller: str) -> float:
        """Seconds until this caller may try again."""
        count, last = self._failures.get(caller, (0, 0.0))
        if count < FREE_TRIES:
            return 0.0
        wait = min(LONGEST_WAIT_S, 2.0 ** (count - FREE_TRIES + 1))
        return max(0.0, last + wait - self._clock())

    def attempt(self, caller: str, opens: Callable[[], bool]) -> bool:
        """Whether a try opens the lock; one at a time, and none while the caller has to
        wait."""
        with self._turn:
            if self.wait_s(caller) > 0:
                return False
            if opens():
                self._failures.pop(caller, None)
                return True
            count, _ = self._failures.pop(caller, (0, 0.0))
            self._failures[caller] = (count + 1, self._clock())
            while len(self._failures) > MOST_CALLERS:
                del self._failures[next(iter(self._failures))]
            return False
