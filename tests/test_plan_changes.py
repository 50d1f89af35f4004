"""`plan` as if a price had jumped, a delivery were short, an oven broken: as a process."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimiser.plan import Plan, read_plan
from tests.test_cli import easy_cafe, run


def planned(at: Path, folder: Path, *changes: str) -> tuple[Plan, str]:
    """The plan written by `plan` with these changes, and what was printed."""
    code, out, err = run("plan", folder, "--work", 2, "--out", at / "out", *changes, at=at)
    assert code == 0, err
    return read_plan(at / "out" / "plan.json"), out


def test_a_price_that_jumps_is_paid_and_said(tmp_path: Path):
    """Spinach at 14.00 a kilo becomes 28.00; every pack in the plan costs so."""
    folder = easy_cafe(tmp_path / "cafe")
    before, _ = planned(tmp_path, folder)
    after, out = planned(tmp_path, folder, "--price", "spinach=+100%")
    assert {b.cost_cents // b.packs for b in before.buys if b.ingredient == "spinach"} <= {1400}
    assert {b.cost_cents // b.packs for b in after.buys if b.ingredient == "spinach"} <= {2800}
    assert after.objective_cents < before.objective_cents
    assert "As if: Spinach: 100 % dearer" in out


def test_a_short_delivery_brings_nothing_of_it(tmp_path: Path):
    folder = easy_cafe(tmp_path / "cafe")
    before, _ = planned(tmp_path, folder)
    (day,) = {buy.deliver_on for buy in before.buys if buy.ingredient == "quinoa"}
    after, out = planned(tmp_path, folder, "--short", f"van@{day}:quinoa")
    assert day not in {buy.deliver_on for buy in after.buys if buy.ingredient == "quinoa"}
    assert {cook.dish for cook in after.cooks if cook.date == day} == {"tofu_salad", "roast"}
    assert "without Quinoa" in out


def test_changes_hold_in_the_order_given(tmp_path: Path):
    folder = easy_cafe(tmp_path / "cafe")
    plan, out = planned(
        tmp_path, folder, "--price", "tofu=40/pack", "--price", "group:soy=-50%",
        "--minutes", "oven@tue=60", "--covers", "mon=+10%", "--stock", "quinoa=1kg",
    )  # fmt: skip
    assert {b.cost_cents // b.packs for b in plan.buys if b.ingredient == "tofu"} <= {2000}
    assert [line for line in out.splitlines() if line.startswith("As if: ")] == out.splitlines()[:5]
    assert any(row.lot == "extra-1" for row in (*plan.uses, *plan.left))


@pytest.mark.parametrize(
    ("option", "text", "mend"),
    [
        ("--price", "spinnach=+10%", "did you mean 'spinach'?"),
        ("--price", "spinach", "+30%"),
        ("--short", "van@2026-11-29", "2026-11-29"),
        ("--stock", "stock-9=gone", "stock-9"),
        ("--minutes", "oven@tue=lots", "oven"),
        ("--covers", "noday=+5%", "noday"),
    ],
)
def test_a_change_that_makes_no_sense_is_named_with_its_mend(
    tmp_path: Path, option: str, text: str, mend: str
):
    folder = easy_cafe(tmp_path / "cafe")
    code, out, err = run("plan", folder, option, text, "--out", tmp_path / "out", at=tmp_path)
    assert code == 2 and out == ""
    assert err.startswith(f"{option} {text!r}: ") and mend in err
    assert not (tmp_path / "out").exists()
