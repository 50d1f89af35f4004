"""Whatever bytes a folder holds, reading it ends in a Reading or in TableFaults."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from cafe_folder import FILES, write_folder
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser.tables import Reading, TableFaults, read_folder

CELLS = st.one_of(
    st.sampled_from(
        [
            "",
            "0",
            "-1",
            "nan",
            "inf",
            "1e308",
            "1e-320",
            "9" * 400,
            "0.1",
            "none",
            "each",
            "portion",
        ]
        + ["kg", "cup", "whole", "opened", "cooked", "soup", "squash", "cooked_quinoa", "component"]
        + ["2026-02-30", "2099-12-31", "mon", ";", "a;b", "1:1", "1:nan", "=1+1", '"', "\x00", "\n"]
        + ["\u0663", "\u2212" + "5", "main", "5", "100", "dry", "loose", "yes"]
    ),
    st.text(max_size=20),
)


def outcome(files: dict[str, bytes | None]) -> Reading | TableFaults:
    with tempfile.TemporaryDirectory() as folder:
        try:
            return read_folder(write_folder(Path(folder), **files))
        except TableFaults as faults:
            return faults


def check(files: dict[str, bytes | None]) -> None:
    found = outcome(files)
    if isinstance(found, TableFaults):
        assert found.faults
        for fault in found.faults:
            assert str(fault).isprintable() and len(str(fault)) < 1000


@given(data=st.data())
@settings(max_examples=80, deadline=None)
def test_any_cells_and_any_columns(data: st.DataObject) -> None:
    files: dict[str, bytes | None] = {}
    for _ in range(data.draw(st.integers(1, 3))):
        stem = data.draw(st.sampled_from([stem for stem in FILES if stem != "cafe"]))
        rows = list(csv.reader(io.StringIO(FILES[stem])))
        for _ in range(data.draw(st.integers(0, 3))):
            row = data.draw(st.sampled_from(rows))
            if row:
                row[data.draw(st.integers(0, len(row) - 1))] = data.draw(CELLS)
        if data.draw(st.integers(0, 3)) == 0:
            dropped = data.draw(st.integers(0, len(rows[0]) - 1))
            rows = [row[:dropped] + row[dropped + 1 :] for row in rows]
        out = io.StringIO()
        csv.writer(out).writerows(rows)
        files[stem] = out.getvalue().encode("utf-8", "surrogatepass")
    check(files)


@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_any_bytes_anywhere(data: st.DataObject) -> None:
    stem = data.draw(st.sampled_from(list(FILES)))
    content = FILES[stem].encode()
    start = data.draw(st.integers(0, len(content)))
    end = data.draw(st.integers(start, min(len(content), start + 40)))
    check({stem: content[:start] + data.draw(st.binary(max_size=12)) + content[end:]})


@given(
    old=st.sampled_from(
        ["250", "6.50", "0.5", '"AUD"', "2026-11-30", "300", "90", '"soup"', '"bar"']
    ),
    new=st.sampled_from(
        ["nan", "-inf", "1e9999", "0x" + "f" * 99, "true", "[]", "{}", '""', "07:32:00"]
    )
    | st.integers().map(str)
    | st.floats().map(str),
)
@settings(max_examples=60, deadline=None)
def test_any_settings(old: str, new: str) -> None:
    check({"cafe": FILES["cafe"].replace(old, new, 1).encode()})


def test_a_control_character_in_a_header_is_shown_not_sent() -> None:
    found = outcome({"ingredients": b"\x00ingredient,name,form\nkale,Kale,loose\n"})
    assert isinstance(found, TableFaults)
    assert any("\\x00ingredient?" in str(fault) for fault in found.faults)
