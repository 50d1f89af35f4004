"""`week.xlsx` and `week.pdf`: the same cells as the reports, readable, and never run."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any

import pytest
import typst
from openpyxl import load_workbook
from PIL import Image
from pypdf import PdfReader

from optimiser import cli, reports, sheets, sheets_pdf, sheets_xlsx
from optimiser.cafe import Cafe, Step
from optimiser.colour_letters import LETTERS
from optimiser.food_code import CODES
from optimiser.label_report import CHECK_LABELS
from optimiser.plan import Plan
from optimiser.sheets_words import page_words, soft
from optimiser.verify import ask_rules
from tests.cafe_folder import write_folder
from tests.small_cafe import FRI, small_cafe, small_plan, small_week

PLAN, CAFE = small_plan(), small_cafe()
ODD_NAMES = {
    "roast": "=1+1 # $x$ *a* _b_ <c> \\d \"e\" 'f' @g `h` ~ [i] {j} %k //l /*m*/ é Ж Ω",
    "salad": "@x" + "Wassermelonensalatschüsselchen" * 6,
    "pot": "-2 שלום &amp; http://a.example/?q=1",
}
SMALLEST_MARGIN_MM = 8


def coloured() -> Cafe:
    """The small cafe with colours, one of them its own, labels read in part, and steps."""
    fields: dict[str, dict[str, Any]] = {
        "squash": {"colour": "orange", "protein_g": 1.0, "allergens": frozenset()},
        "carrot": {"colour": "teal", "protein_g": 0.0, "allergens": frozenset({"sesame"})},
        "quinoa": {"colour": "white"},
    }
    items = {id: item.model_copy(update=fields[id]) for id, item in CAFE.ingredients.items()}
    steps = (Step(number=1, text="Rinse,\nthen *boil* it", minutes=20, station="hob"),)
    pot = CAFE.dishes["pot"].model_copy(update={"steps": steps})
    return small_cafe(ingredients=items, dishes=CAFE.dishes | {"pot": pot})


def oddly_named() -> Cafe:
    """The small cafe with names that a spreadsheet or a typesetter might take for its own."""
    dishes = {
        id: dish.model_copy(update={"name": ODD_NAMES[id]}) for id, dish in CAFE.dishes.items()
    }
    mill = CAFE.suppliers["mill"].model_copy(update={"name": "+Mill #[*$"})
    return small_cafe(
        name="=Small & #Co", dishes=dishes, suppliers=CAFE.suppliers | {"mill": mill}
    )


CAFES = {"plain": CAFE, "coloured": coloured(), "oddly named": oddly_named()}


def shown(cafe: Cafe = CAFE, plan: Plan = PLAN) -> sheets.Contents:
    return sheets.contents(plan, cafe, ask_rules(plan, small_week(cafe)).priced)


@pytest.fixture(params=CAFES)
def cafe(request: pytest.FixtureRequest) -> Cafe:
    return CAFES[request.param]


# -- the spreadsheet ------------------------------------------------------


def book(contents: sheets.Contents) -> Any:
    return load_workbook(io.BytesIO(sheets_xlsx.xlsx(contents)))


def expected(column: str, cell: Any) -> Any:
    """What a spreadsheet reads back for a cell of a report."""
    if isinstance(cell, date):
        return datetime(cell.year, cell.month, cell.day)
    if column.endswith("_pct") and cell is not None:
        return pytest.approx(cell / 100, abs=1e-9)
    return None if cell == "" else cell


def test_every_sheet_holds_the_rows_of_its_report(cafe: Cafe) -> None:
    contents = shown(cafe)
    sheets_read = book(contents).worksheets[1:]
    assert len(sheets_read) == len(reports.REPORTS)
    for sheet, table in zip(sheets_read, contents.tables.values(), strict=True):
        heads, *lines = sheet.iter_rows()
        assert [cell.value for cell in heads] == [sheets_xlsx.heading(c) for c in table.columns]
        assert len(lines) == len(table.rows) > 0
        for line, row in zip(lines, table.rows, strict=True):
            for cell, column in zip(line, table.columns, strict=True):
                value = cell.value
                if isinstance(row[column], Decimal):
                    assert isinstance(value, int | float)
                    value = Decimal(str(value))
                assert value == expected(column, row[column]), (sheet.title, cell.coordinate)
                assert isinstance(row[column], str) or cell.data_type != "s"


def test_dates_are_dates_and_numbers_look_like_what_they_are() -> None:
    read = book(shown(coloured()))
    week, order, costs = read["Week"], read["Order"], read["Costs"]
    assert week["A2"].is_date and week["A2"].number_format == "yyyy-mm-dd"
    assert order["M2"].number_format == '"$"#,##0.00;-"$"#,##0.00'
    assert costs["H3"].value == -30  # purchases
    portion = next(row for row in costs.iter_rows() if row[0].value == "dish")
    assert (portion[6].number_format, portion[6].value) == ("0.0%", 0.08)
    assert read["Prep"]["S9"].number_format == "#,##0.0#"


@pytest.mark.parametrize(
    ("currency", "looks"),
    [
        ("AUD", '"$"#,##0.00'),
        ("EUR", '"€"#,##0.00'),
        ("SEK", '#,##0.00"\xa0kr"'),
        ("CHF", '"CHF\xa0"#,##0.00'),
    ],
)
def test_the_currency_is_the_cafes_own(currency: str, looks: str) -> None:
    plan = PLAN.model_copy(update={"currency": currency})
    read = book(shown(small_cafe(currency=currency), plan))
    assert read["Order"]["M2"].number_format == f"{looks};-{looks}"
    assert read["Summary"]["B4"].value == currency


@pytest.mark.parametrize("name", ["=1+1", "@x", "+61 3", "-x", "{=1}", "http://a.example", "12"])
def test_no_cell_is_a_formula_a_link_or_a_number_by_its_looks(name: str) -> None:
    dish = CAFE.dishes["roast"].model_copy(update={"name": name})
    contents = shown(small_cafe(dishes=CAFE.dishes | {"roast": dish}))
    written = sheets_xlsx.xlsx(contents)
    cells = [c for s in load_workbook(io.BytesIO(written)) for row in s.iter_rows() for c in row]
    named = [cell for cell in cells if cell.value == name]
    assert len(named) >= 6 and all(cell.data_type == "s" for cell in named)
    assert all(cell.quotePrefix for cell in named)
    assert {cell.data_type for cell in cells} == {"s", "n", "d"}
    with zipfile.ZipFile(io.BytesIO(written)) as parts:
        xml = b"".join(parts.read(part) for part in parts.namelist())
    assert b"<f>" not in xml and b"<f " not in xml and b"<hyperlink" not in xml


def test_the_same_plan_gives_the_same_workbook() -> None:
    first = sheets_xlsx.xlsx(shown())
    assert first == sheets_xlsx.xlsx(shown())
    with zipfile.ZipFile(io.BytesIO(first)) as parts:
        assert {part.date_time for part in parts.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    made = load_workbook(io.BytesIO(first)).properties
    assert (made.created.date(), made.modified.date()) == (FRI, FRI)


def test_a_sheet_is_ready_to_filter_and_to_print() -> None:
    for sheet in book(shown()).worksheets[1:]:
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref == sheet.dimensions
        assert sheet.print_title_rows == "$1:$1"
        assert (sheet.page_setup.orientation, sheet.page_setup.paperSize) == ("landscape", 9)
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        # one page wide, which the file says by leaving it out
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (None, 0)
        assert all(6 <= size.width <= 47 for size in sheet.column_dimensions.values())


def test_the_first_sheet_says_what_the_week_comes_to_and_what_to_watch() -> None:
    contents = shown()
    cells = [[cell.value for cell in row] for row in book(contents)["Summary"].iter_rows()]
    money = {row[0]: row[1] for row in cells if row[1] is not None}
    assert money["Margin of the week"] == 273.19 and money["Expected takings"] == 294.51
    assert sum(money[name] for name in TERMS) == pytest.approx(273.19)
    said = [row[0] for row in cells]
    assert contents.bound in said and "$1.81" in contents.bound
    assert "Carrot salad shown 3 times, at most 2" in said
    for words in (CHECK_LABELS, *CODES["au"].sentences):
        assert words in said
    assert "Carrot salad: allergens unknown, no label read for carrot, quinoa." in said


TERMS = (
    "Expected takings",
    "Purchases",
    "Delivery fees",
    "Binned food and its disposal",
    "Value of what is left",
    "Broken rules with a price",
    "Appeal",
)


def test_a_text_too_long_for_a_cell_says_that_it_was_cut() -> None:
    contents = shown()
    contents.tables["week"].rows[0]["name"] = "\U0001f955" * 20_000
    cell = book(contents)["Week"]["F2"].value
    assert cell.startswith("\U0001f955" * 10_000) and cell.endswith(sheets_xlsx.CUT)
    assert len(cell.encode("utf-16-le")) // 2 <= sheets_xlsx.LONGEST_TEXT


def test_a_report_without_rows_still_has_a_sheet() -> None:
    contents = shown()
    contents.tables["order"].rows.clear()
    assert book(contents)["Order"].max_row == 1
    assert "Order list" in printed(sheets_pdf.pdf(contents))


# -- on paper -------------------------------------------------------------


def bare(text: str) -> str:
    """A text without its white space and room to break, and without capitals."""
    return re.sub(r"[\s\u200b]", "", text).casefold()


def printed(document: bytes) -> str:
    """All words of a PDF, line breaks taken for spaces."""
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(document)).pages)
    return " ".join(text.replace("\u200b", "").split())


def texts(words: Any) -> Iterator[str]:
    """Every text in a piece of JSON."""
    if isinstance(words, str):
        yield words
    elif isinstance(words, dict | list):
        for inner in words.values() if isinstance(words, dict) else words:
            yield from texts(inner)


def pages(contents: sheets.Contents, ppi: float) -> list[Image.Image]:
    """The pages as grey pictures."""
    made = typst.compile(
        package_files("optimiser").joinpath("sheets.typ").read_bytes(),
        sys_inputs={"week": sheets_pdf.json.dumps(page_words(contents))},
        ignore_system_fonts=True,
        format="png",
        ppi=ppi,
    )
    made = made if isinstance(made, list) else [made]
    return [Image.open(io.BytesIO(page)).convert("L") for page in made]


def test_everything_to_be_printed_is_printed(cafe: Cafe) -> None:
    contents = shown(cafe)
    text = bare(printed(sheets_pdf.pdf(contents)))
    # right-to-left words come back in the order of the page
    missing = [
        words
        for words in texts(page_words(contents))
        if bare(words) not in text and not re.search("[א-ת]", words)
    ]
    assert missing == []


def test_what_is_printed_has_every_dish_order_allergen_and_unknown() -> None:
    text = printed(sheets_pdf.pdf(shown(coloured())))
    for words in (
        "Small: Mon 2026-01-05 to Wed 2026-01-07",
        "No week that keeps your rules can earn more than $1.81 above this one.",
        "8 × Roast squash",
        "takings $101.10",
        "Hill Farm, comes Mon 2026-01-05",
        "Hill Farm: order by Fri 2026-01-02 14:00",
        "Contains: sesame (carrot); unknown for quinoa",
        "Labels not read: quinoa",
        "Vegan: unknown · Gluten: unknown · Nuts: unknown",
        "Protein, g: at least 0, rest unknown",
        "Margin of the week $273.19",
        "Roast squash 24 $0.80 $10.00 8 %",
        CHECK_LABELS,
        CODES["au"].keep,
        "Page 1 of",
    ):
        assert words in text


def test_a_nought_is_printed_and_not_left_out() -> None:
    contents = shown()
    contents.tables["labels"].rows[0]["salt_g"] = 0.0
    assert "Salt, g: 0 ·" in printed(sheets_pdf.pdf(contents))


def test_names_print_as_they_are_and_nothing_leaves_the_paper() -> None:
    contents = shown(oddly_named())
    text = bare(printed(sheets_pdf.pdf(contents)))
    for name in (ODD_NAMES["roast"], ODD_NAMES["salad"], "=Small & #Co", "+Mill #[*$"):
        assert bare(name) in text
    ppi = 50
    margin = int(SMALLEST_MARGIN_MM / 25.4 * ppi)
    for page in pages(contents, ppi):
        inside = page.point(lambda grey: 255 * (grey < 250)).getbbox()
        assert inside is not None
        assert margin <= inside[0] and inside[2] <= page.width - margin
        assert margin <= inside[1] and inside[3] <= page.height - margin


def test_the_document_is_tagged_titled_in_english_and_has_bookmarks() -> None:
    document = sheets_pdf.pdf(shown())
    reader = PdfReader(io.BytesIO(document))
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en" and root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata and reader.metadata.title == shown().title
    assert b"pdfuaid" in root["/Metadata"].get_data()
    tops = [item["/Title"] for item in reader.outline if not isinstance(item, list)]
    assert tops == [
        "The cabinet, day by day", "Money and care", "Order list", "Prep sheets", "Labels",
        "Use-up list",
    ]  # fmt: skip
    assert {page.mediabox.width > page.mediabox.height for page in reader.pages} == {True}
    assert len(reader.pages) == len(pages(shown(), 20))


def test_a_table_longer_than_a_page_repeats_its_header() -> None:
    contents = shown()
    rows = contents.tables["use_up"].rows
    rows += [{**rows[0], "lot": f"stock-{n}"} for n in range(10, 100)]
    text = printed(sheets_pdf.pdf(contents))
    assert text.count("What Lot Use by Stock, g") >= 2 and "stock-99" in text


def test_the_same_plan_gives_the_same_document() -> None:
    assert sheets_pdf.pdf(shown()) == sheets_pdf.pdf(shown())


def test_a_letter_that_no_font_has_is_said_to_be_missing() -> None:
    dish = CAFE.dishes["roast"].model_copy(update={"name": "Roast \u0378"})  # no such letter
    document = sheets_pdf.pdf(shown(small_cafe(dishes=CAFE.dishes | {"roast": dish})))
    assert sheets_pdf.LETTERS_LACK in printed(document)
    assert sheets_pdf.LETTERS_LACK not in printed(sheets_pdf.pdf(shown()))


def test_each_colour_has_a_letter_a_paint_and_a_pattern_of_its_own() -> None:
    template = package_files("optimiser").joinpath("sheets.typ").read_text(encoding="utf-8")
    for name in ("paints", "marks"):
        block = re.search(rf"#let {name} = \((.*?)\n\)", template, re.DOTALL)
        assert block is not None
        _, *parts = re.split(r"\n  (\w+): ", block[1])
        assert set(parts[::2]) == set(LETTERS)
        assert len({" ".join(drawn.split()) for drawn in parts[1::2]}) == len(LETTERS)


def test_the_template_reads_no_file_and_loads_no_package() -> None:
    template = package_files("optimiser").joinpath("sheets.typ").read_text(encoding="utf-8")
    assert not re.search(r"\b(import|include|read|image|plugin|https?)\b", template)


def test_long_words_get_room_to_break_and_marks_stay_with_their_letter() -> None:
    assert soft("bought-2026-01-05-hill_farm") == (
        "bought-\u200b2026-\u200b01-\u200b05-\u200bhill_\u200bfarm"
    )
    assert soft("a" * 18) == "a" * 18
    assert soft("a" * 20) == "\u200b".join(["aaaa"] * 5)
    assert all(part[0] == "e" for part in soft("e\u0301" * 10).split("\u200b"))
    assert soft("- x -") == "- x -"


# -- all files or none ----------------------------------------------------


def test_a_document_that_fails_is_one_sentence_and_leaves_no_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*_: Any, **__: Any) -> bytes:
        raise typst.TypstError("out of\npaper")

    monkeypatch.setattr(sheets_pdf, "typeset", fails)
    stock = "item,qty,unit,use_by,state\nsquash,3,each,2026-12-20,whole\n"
    folder = write_folder(tmp_path / "cafe", stock=stock)
    out = tmp_path / "out"
    assert cli.main(["plan", str(folder), "--work", "1", "--out", str(out)]) == 2
    said = capsys.readouterr()
    assert f"--out {out}: week.pdf cannot be made: out of paper; this week was not written" in (
        said.err
    )
    assert "Traceback" not in said.err and "Margin of the week" in said.out
    assert not out.exists()


def test_a_panic_of_the_typesetter_is_a_fault_of_the_sheet(monkeypatch: Any) -> None:
    class Panic(BaseException):
        pass

    def panics(*_: Any, **__: Any) -> bytes:
        raise Panic

    monkeypatch.setattr(sheets_pdf, "typeset", panics)
    with pytest.raises(sheets.SheetFault, match=r"^week\.pdf cannot be made: Panic$"):
        sheets.sheet_files(shown())
