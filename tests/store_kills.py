"""Saves in a loop and is killed, again and again: `python -m tests.store_kills STORE KILLS SEED`.

Each round forks a child that saves revision after revision and tells each number it was
given; after a random moment it is killed. What the store then says is printed as JSON.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from optimiser.document import Document, checksum
from optimiser.store import Store
from tests.cafe_folder import FILES
from tests.store_documents import document

LONGEST_LIFE_SECONDS = 0.06


def numbered(count: int) -> Document:
    """Other tables for every count."""
    return document(covers=FILES["covers"].replace("mon,40,", f"mon,{count % 10 + 40},"))


def save_for_ever(place: Path, told: int) -> None:
    with Store.open(place) as store:
        for count in range(1_000_000):
            head = store.head()
            saved = store.save(numbered(count), "child", "", None if head is None else head.id)
            os.write(told, f"{saved.id}\n".encode())


def killed_round(place: Path, seconds: float) -> int | None:
    """The last revision that a child was told is saved, before it was killed."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            save_for_ever(place, writing)
        finally:
            os._exit(1)  # only if it was not killed: an error, told on stderr
    os.close(writing)
    with os.fdopen(reading) as told:
        first = told.readline()  # it is at work
        time.sleep(seconds)
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        if not os.WIFSIGNALED(status):
            raise SystemExit("the child ended by itself")
        numbers = [line for line in (first, *told) if line.endswith("\n")]
    return int(numbers[-1])


def main(place: Path, kills: int, seed: int) -> None:
    chance = random.Random(seed)
    Store.open(place, create=True).close()
    rounds, torn = [], 0
    for _ in range(kills):
        told = killed_round(place, chance.uniform(0, LONGEST_LIFE_SECONDS))
        torn += place.with_name(place.name + "-journal").exists()
        with Store.open(place) as store:
            head = store.head()
            assert head is not None
            whole = checksum(store.document(head.id).to_text()) == head.sha256
            rounds.append({"told": told, "head": head.id, "whole": whole})
    print(json.dumps({"rounds": rounds, "torn": torn}))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
