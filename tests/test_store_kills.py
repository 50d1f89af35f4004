"""A process that saves is killed at random moments: the store stays whole."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from optimiser.store import Store

ROOT = Path(__file__).resolve().parents[1]
KILLS = 40


def test_forty_kills_leave_a_whole_store_that_has_all_it_said_it_had(tmp_path: Path) -> None:
    place = tmp_path / "store.db"
    done = subprocess.run(
        [sys.executable, "-m", "tests.store_kills", str(place), str(KILLS), "7"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=100,
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert len(found["rounds"]) == KILLS
    for number, one in enumerate(found["rounds"]):
        assert one["whole"] and one["head"] >= one["told"], (number, one)
    # The kills did hit the middle of saves: else this test would say nothing.
    assert found["torn"] >= 1

    with Store.open(place) as store:
        history, head = store.history(), store.head()
        assert head is not None and head.id == history[-1].id
        for before, after in zip([None, *history], history, strict=False):
            assert after.parent == (before and before.id)
            store.document(after.id)
        assert [move.after for move in store.moves()] == [one.id for one in history]
        assert store.read().cafe.name == "The Test Bench"
