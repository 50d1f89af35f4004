"""cafe.toml: what is refused, and how it is told."""

from __future__ import annotations

from pathlib import Path

import pytest
from cafe_folder import FILES, write_folder

from optimiser.tables import TableFaults, read_folder

TOML = FILES["cafe"]


def faults(path: Path, cafe: str | bytes) -> list[str]:
    with pytest.raises(TableFaults) as caught:
        read_folder(write_folder(path, cafe=cafe))
    return [str(fault) for fault in caught.value.faults]


CHANGES = [
    ("price = 6.50", "price = 6.505", "cafe.toml: courses.salad.price: 6.505: not an amount"),
    ("price = 6.50", "price = -6.50", "cafe.toml: courses.salad.price: -6.50: not an amount"),
    ("price = 6.50", "", "cafe.toml: courses.salad.price: missing"),
    ("price = 6.50", "price = true", "cafe.toml: courses.salad.price: True: write one plain"),
    ("take_up = 0.5", "take_up = nan", "cafe.toml: courses.salad.take_up: NaN: not a number"),
    ("take_up = 0.5", "take_up = inf", "cafe.toml: courses.salad.take_up: NaN: not a number"),
    ("slots = 1\nprice = 12", "slots = 1.5\nprice = 12", "courses.main.slots: 1.5: not a whole"),
    ("cup_ml = 250", "cup_ml = 0", "cafe.toml: cup_ml: 0: not a likely amount"),
    ("cup_ml = 250", "cup_m = 250", "cafe.toml: cup_m: no such setting; did you mean cup_ml?"),
    ('"AUD"', '"dollars"', "cafe.toml: currency: dollars: not a currency"),
    ('"mon", "tue"', '"mon", "tues"', "cafe.toml: open_days: tues: not a weekday"),
    ('"mon", "tue"', "", "cafe.toml: open_days: []: write a list"),
    ("week = 2026-11-30", "week = 2026-11-30T10:00:00", "cafe.toml: week: 2026-11-30T10:00:00"),
    ("week = 2026-11-30", 'week = "30 November"', "cafe.toml: week: 30 November: not a date"),
    ("plan_ahead_days = 3", "plan_ahead_days = -1", "cafe.toml: plan_ahead_days: -1: not a likely"),
    (
        "main = 1",
        "mian = 1",
        "cafe.toml: plate.mian: mian: not a course of this cafe; did you mean",
    ),
    ("tue = 360.5", "", "cafe.toml: kitchen.hands_on_min.tue: missing for an open day"),
    ("tue = 360.5", "tus = 1", "cafe.toml: kitchen.hands_on_min.tus: no such setting"),
    ("waste_cost_pct = 90", "waste_cost_pct = 9000", "cafe.toml: money.waste_cost_pct: 9000"),
    ('kind = "bar"', 'kind = "rab"', "cafe.toml: rules.1.kind: "),
    ('kind = "bar"', "", "cafe.toml: rules.1.kind: "),
    ('kind = "bar"', 'kind = "bar"\nprice_cents = nan', "cafe.toml: rules.1.price_cents: not a"),
    ('name = "The Test Bench"', "", "cafe.toml: name: missing"),
    ("[courses.main]", "[courses.component]", "cafe.toml: courses.component: component: not a cou"),
]


@pytest.mark.parametrize(("old", "new", "told"), CHANGES)
def test_a_faulty_setting_is_named_with_its_value(
    tmp_path: Path, old: str, new: str, told: str
) -> None:
    assert old in TOML
    found = faults(tmp_path, TOML.replace(old, new, 1))
    assert any(told in text for text in found), found


def test_a_setting_that_resembles_nothing_is_noted_and_ignored(tmp_path: Path) -> None:
    reading = read_folder(write_folder(tmp_path, cafe='motto = "soup first"\n' + TOML))
    assert "cafe.toml: settings that mean nothing here: motto" in reading.notes


def test_defaults_are_noted(tmp_path: Path) -> None:
    text = TOML.replace("tbsp_ml = 20\n", "")
    notes = read_folder(write_folder(tmp_path, cafe=text)).notes
    assert "cafe.toml: tbsp_ml is not set; taken as 20" in notes


def test_broken_toml_is_named_by_its_line(tmp_path: Path) -> None:
    found = faults(tmp_path, TOML.replace("cup_ml = 250", "cup_ml 250"))
    assert len(found) == 1
    assert found[0].startswith("cafe.toml:3:character 8: cup_ml 250: not valid TOML")


@pytest.mark.parametrize(
    "hostile",
    [
        "x = " + "[" * 5000 + "]" * 5000,
        ".".join(["a"] * 3000) + " = 1",
        ".".join(["a"] * 40_000) + " = 1",
        ".".join(["a"] * 400) + " = 1",
        "cup_ml = 0x" + "f" * 9000,
        "cup_ml = " + "9" * 5000,
        "cup_ml = 1e" + "9" * 400,
        "rules = 3",
        "rules = [[1]]",
        "courses = []",
        "[[courses]]",
        "kitchen = 1979-05-27T07:32:00Z",
        '[[rules]]\nkind = ["bar"]',
    ],
)
def test_hostile_settings_are_faults_and_nothing_worse(tmp_path: Path, hostile: str) -> None:
    assert faults(tmp_path, hostile)


def test_a_bad_byte_in_the_settings_is_named_by_its_line(tmp_path: Path) -> None:
    found = faults(tmp_path, TOML.encode().replace(b"AUD", b"\xff"))
    assert found[0].startswith("cafe.toml:2:byte 13: 0xff: not UTF-8 text")
