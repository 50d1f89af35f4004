"""Money, days and numbers by locale; files for programs stay plain."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path

import pypdf
import pytest

from optimiser import formats, reports
from optimiser.formats import parse_locale, use_locale, written_as
from optimiser.report_base import day_text, money_text, number_text, weekday
from optimiser.table_faults import TableFaults
from optimiser.tables import read_folder
from tests.cafe_folder import write_folder
from tests.small_cafe import small_cafe, small_plan

MONDAY = date(2026, 11, 30)


def test_without_a_locale_all_is_plain():
    assert (weekday(MONDAY), day_text(MONDAY)) == ("Mon", "Mon 2026-11-30")
    assert formats.short_day(MONDAY) == "Mon 30 Nov"
    assert (number_text(1234.5), formats.grouped(1234.5, 3)) == ("1234.5", "1,234.5")
    assert (number_text(20.0), formats.number(20.0, 0), formats.grouped(1e6, 0)) == (
        "20",
        "20",
        "1,000,000",
    )


@pytest.mark.parametrize(
    ("code", "money", "day", "number"),
    [
        ("en_AU", "$1,234.50", "Mon, 30 Nov 2026", "1,234.5"),
        ("de_AT", "$ 1.234,50", "Mo., 30. Nov. 2026", "1.234,5"),
        ("sv-SE", "1 234,50 AUD", "mån 30 nov. 2026", "1 234,5"),
    ],
)
def test_a_locale_writes_as_its_country_does(code: str, money: str, day: str, number: str):
    with written_as(code):
        said = (money_text(123450, "AUD"), day_text(MONDAY), number_text(1234.5))
    # Spaces that may not break, the sign of a foreign currency, and whether a comma stands
    # after an Australian weekday vary with the release of the locale data.
    plain = [text.replace("\xa0", " ").replace("\u202f", " ") for text in said]
    assert [plain[1].replace(",", ""), plain[2]] == [day.replace(",", ""), number]
    assert plain[0].replace("AU$", "$") == money


def test_a_block_goes_before_the_process_and_ends():
    use_locale("de_AT")
    try:
        assert number_text(1.5) == "1,5"
        with written_as(None):
            assert number_text(1.5) == "1.5"
        assert number_text(1.5) == "1,5"
    finally:
        use_locale(None)
    assert number_text(1.5) == "1.5"


@pytest.mark.parametrize("code", ["", "xx", "en_XX", "../x", "1"])
def test_what_is_no_locale_is_refused_with_the_mend(code: str):
    with pytest.raises(ValueError, match="as en_AU or de_AT"):
        parse_locale(code)


def test_cafe_toml_may_name_a_locale(tmp_path: Path):
    folder = write_folder(tmp_path / "cafe")
    settings = folder / "cafe.toml"
    text = settings.read_text(encoding="utf-8")
    settings.write_text('locale = "de-AT"\n' + text, encoding="utf-8")
    assert read_folder(folder).cafe.locale == "de_AT"
    settings.write_text('locale = "Austria"\n' + text, encoding="utf-8")
    with pytest.raises(TableFaults, match="cafe.toml: locale: Austria: .*en_AU or de_AT"):
        read_folder(folder)


def test_sheets_follow_the_locale_and_csv_files_do_not():
    plan, cafe = small_plan(), small_cafe()
    plain = reports.files(plan, cafe)
    austrian = reports.files(plan, cafe.model_copy(update={"locale": "de_AT"}))
    for name in ("week.csv", "order.csv", "prep.csv", "labels.csv", "use_up.csv", "costs.csv"):
        assert austrian[name] == plain[name]
        rows = csv.DictReader(io.StringIO(str(plain[name])))
        assert list(rows) and not any("30. " in str(row) for row in rows)
    assert austrian["plan.json"] == plain["plan.json"]
    words = {name: _printed(made["week.pdf"]) for name, made in (("at", austrian), ("", plain))}
    assert "Mo., 5. Jän. 2026" in words["at"] and "Mon 2026-01-05" not in words["at"]
    assert "Mon 2026-01-05" in words[""]
    with written_as("de_AT"):
        shown_on = str(reports.label_rows(plan, cafe)[0]["shown_on"])
    assert "Jän. 2026" in shown_on and shown_on in words["at"]
    assert "$ 25,00" in words["at"] and "$25.00" in words[""]


def _printed(pdf: str | bytes) -> str:
    assert isinstance(pdf, bytes)
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    text = " ".join(page.extract_text() for page in pages)
    return " ".join(text.replace("\u200b", "").replace("\xa0", " ").split())
