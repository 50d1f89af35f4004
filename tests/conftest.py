"""What every test may rely on: repeatable examples in CI, the sample cafe read once."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

from optimiser.tables import Reading, read_folder

# A slow machine is no failure. In CI the same examples come up every time, so that
# a red run can be repeated; elsewhere each run tries new ones.
settings.register_profile("here", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI", "").lower() in ("1", "true") else "here")


@pytest.fixture(scope="session")
def sample() -> Reading:
    """The cafe of sample_data; frozen, so that tests can share it."""
    return read_folder(Path(__file__).parent.parent / "sample_data")
