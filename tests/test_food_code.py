"""What labels and sheets say of heat, cold and cooling, by law."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from optimiser import reports
from optimiser.cafe import Cafe
from optimiser.food_code import CODES
from optimiser.sheets import contents
from optimiser.table_faults import TableFaults
from optimiser.tables import read_folder
from tests.cafe_folder import FILES, write_folder
from tests.small_cafe import small_cafe, small_plan

# Degrees Celsius: hot, cold, and the stages of cooling with their hours. Standard 3.2.2
# (Australia); FDA Food Code 3-501.14 and .16; Regulations 2013, Schedule 4 (England).
PUBLISHED = {
    "au": ([60], [5], [60, 21, 2, 5, 4]),
    "us": ([57], [5], [57, 21, 2, 5, 6]),
    "uk": ([63], [5, 8], [5]),
}


def numbers(text: str) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", text)]


@pytest.mark.parametrize("code", CODES)
def test_the_figures_are_the_published_ones(code: str):
    found = tuple(numbers(sentence) for sentence in CODES[code].sentences)
    assert found == PUBLISHED[code]


@pytest.mark.parametrize("code", CODES)
def test_labels_and_sheets_follow_the_setting(code: str):
    cafe: Cafe = small_cafe(regime=code)
    storage = " ".join(str(row["storage"]) for row in reports.label_rows(small_plan(), cafe))
    assert CODES[code].hot in storage and CODES[code].keep in storage
    assert set(CODES[code].sentences) <= set(contents(small_plan(), cafe).care)


def test_cafe_toml_names_a_known_law(tmp_path: Path):
    text = 'regime = "us"\n' + FILES["cafe"]
    assert read_folder(write_folder(tmp_path / "a", cafe=text)).cafe.regime == "us"
    assert read_folder(write_folder(tmp_path / "b")).cafe.regime == "au"
    with pytest.raises(TableFaults, match="cafe.toml: regime: mars: use one of au, us, uk"):
        read_folder(write_folder(tmp_path / "c", cafe=text.replace("us", "mars", 1)))
