"""There are enough checks, and enough of them run through the whole program."""

from __future__ import annotations

import pytest

AT_LEAST, AT_LEAST_MAIN = 60, 20


def test_there_are_enough_figures_from_outside(
    checks: dict[str, list[str]], request: pytest.FixtureRequest
) -> None:
    if any(".py" in str(one) for one in request.config.args):
        pytest.skip("only some of the files were asked for")
    main, helper = len(checks["main_job"]), len(checks["outside"])
    assert main >= AT_LEAST_MAIN
    assert main + helper >= AT_LEAST
    assert not set(checks["main_job"]) & set(checks["outside"])
