"""Documents: nothing is lost on the way to text, to a folder and back; what differs, in words."""

from __future__ import annotations

import csv
import io
import os
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimiser import document as documents
from optimiser.document import Document, csv_text, folder_document, parse_csv, read_document
from optimiser.document_changes import changes
from optimiser.folder_out import OutFault, move_to_new, write_file, write_folder
from optimiser.tables import TableFaults, read_folder
from tests.cafe_folder import FILES, edited
from tests.cafe_folder import write_folder as write_test_folder
from tests.store_documents import dearer, document

ROOT = Path(__file__).resolve().parents[1]
CELLS = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    st.sampled_from(["", " ", "=1+1", "+a", "-b", "@c", '"', ",", "\r", "\n", "a\r\nb", "\ufeff",
                     "_x000D_", "_x005F_", "x005F_", "\x00", "\x1b", "\ufffe", "007", "1e5",
                     "2026-11-30", "TRUE", "\t", "'a", "{=1}", "https://a.example"]),
)  # fmt: skip


@st.composite
def shuffled(draw: st.DrawFn) -> Document:
    """The test cafe with a column of one's own, rows, columns and spaces moved about."""
    whole = document()
    tables = dict(whole.tables)
    for file, records in whole.tables.items():
        head, rows = records[0], draw(st.permutations(records[1:]))
        cells = draw(st.lists(CELLS, min_size=len(rows), max_size=len(rows)))
        spaces = draw(st.sampled_from(["", " ", "  "]))
        wide = [
            (*(spaces + cell for cell in row), own) for row, own in zip(rows, cells, strict=True)
        ]
        name = draw(CELLS.filter(lambda text: len(text.strip()) > 3)) + " mine"
        columns = draw(st.permutations(range(len(head) + 1)))
        full = [(*head, name), *wide]
        tables[file] = tuple(tuple(row[place] for place in columns) for row in full)
    return Document(whole.settings, tables)


# -- nothing is lost ----------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(shuffled())
def test_any_tables_go_through_text_and_folder_unchanged(tables: Document) -> None:
    assert Document.from_text(tables.to_text()) == tables
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "cafe"
        write_folder(tables, folder)
        assert folder_document(folder) == tables
        assert read_folder(folder) == read_document(tables)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.lists(CELLS, max_size=4), max_size=5))
def test_csv_is_read_again_cell_by_cell(records: list[list[str]]) -> None:
    text = csv_text(records)
    assert parse_csv(text) == tuple(map(tuple, records))
    assert list(csv.reader(io.StringIO(text, newline=""))) == records


def test_the_sample_is_written_byte_by_byte_as_it_was(tmp_path: Path) -> None:
    sample = ROOT / "sample_data"
    write_folder(folder_document(sample), tmp_path / "out")
    for path in sample.iterdir():
        assert (tmp_path / "out" / path.name).read_bytes() == path.read_bytes(), path.name


def test_windows_files_and_byte_order_marks_come_back_as_cells(tmp_path: Path) -> None:
    dishes = ("\ufeff" + FILES["dishes"].replace("\n", "\r\n")).encode()
    cafe = FILES["cafe"].replace("\n", "\r\n")
    folder = write_test_folder(tmp_path / "cafe", dishes=dishes, cafe=cafe)
    found = folder_document(folder)
    assert found.settings == cafe and found.tables == document().tables
    write_folder(found, tmp_path / "out")
    assert (tmp_path / "out" / "cafe.toml").read_bytes() == cafe.encode()
    assert read_folder(tmp_path / "out") == read_folder(folder)


def test_a_table_left_out_stays_left_out(tmp_path: Path) -> None:
    folder = write_test_folder(tmp_path / "cafe", steps=None, history=None)
    found = folder_document(folder)
    assert found == document(steps=None, history=None)
    assert read_document(found) == read_folder(folder)
    write_folder(found, tmp_path / "out")
    assert not (tmp_path / "out" / "steps.csv").exists()


# -- limits and faults ---------------------------------------------------------


def faults(tables: Document) -> list[str]:
    with pytest.raises(TableFaults) as caught:
        read_document(tables)
    return [str(fault) for fault in caught.value.faults]


def test_a_table_too_large_is_refused_as_in_a_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(documents, "MAX_BYTES", len(FILES["steps"]) - 1)
    assert "steps.csv: over 0.000" in " ".join(faults(document()))
    monkeypatch.undo()
    head, *rows = document().tables["history.csv"]
    many = tuple((head, *(rows * 50_001)))
    monkeypatch.setattr(documents, "MAX_BYTES", 10**9)
    told = faults(Document(document().settings, {**document().tables, "history.csv": many}))
    assert any("history.csv: more than 100,000 rows" in line for line in told)


def test_what_a_file_could_not_hold_is_a_fault() -> None:
    tables = dict(document().tables)
    head, *rows = tables["covers.csv"]
    for own, told in (("x" * 131_073, "covers.csv:2:cell 6: "), ("\ud800", "half of a character")):
        wide = (*head, "mine"), (*rows[0], own), *((*row, "") for row in rows[1:])
        found = faults(Document(document().settings, {**tables, "covers.csv": wide}))
        assert any(told in line for line in found), found


def test_missing_tables_and_settings_are_named() -> None:
    assert "cafe.toml: missing; add this table" in faults(Document(None, document().tables))[0]
    assert any("dishes.csv: missing" in line for line in faults(document(dishes=None)))


def test_rows_of_a_document_count_its_records() -> None:
    # In the file, the text of step 2 takes two lines; in the document it is one record.
    tables = document(steps=FILES["steps"] + "soup,x,Serve.,1,hob,0\n")
    assert [line for line in faults(tables) if line.startswith("steps.csv")][0].startswith(
        "steps.csv:4:step: x: "
    )


# -- what differs --------------------------------------------------------------


def said(old: Document, new: Document) -> list[str]:
    return [str(change) for change in changes(old, new)]


TOML = FILES["cafe"]
DIFFERENCES = [
    (dict(dishes=edited("dishes", "price", "tofu_salad", "7.50")),
     ["dishes.csv: price of tofu_salad was (blank), is now 7.50."]),
    (dict(stock=edited("stock", "qty", "quinoa", "3")),
     ["stock.csv: qty of quinoa, whole was 2, is now 3."]),
    (dict(offers=edited("offers", "price", "tofu", "25.00")),
     ["offers.csv: price of tofu, van, 6, each was 24.00, is now 25.00."]),
    (dict(recipe_lines=edited("recipe_lines", "note", "roast", "")),
     ["recipe_lines.csv: note of roast, squash was skin on, is now (blank)."]),
    (dict(stock=FILES["stock"] + "squash,1,each,2026-12-20,whole\n"),
     ["stock.csv: the row squash, whole, 2026-12-20 (3) is new."]),
    (dict(history=FILES["history"].rpartition("2026-11-24")[0]),
     ["history.csv: the row 2026-11-24, soup is gone."]),
    (dict(history=None), ["history.csv: the table is gone, with 2 rows."]),
    (dict(covers=FILES["covers"].replace("chances", "mine")),
     ["covers.csv: the column chances is gone.", "covers.csv: the column mine is new."]),
    (dict(covers=FILES["covers"].replace("tue,50", " tue ,50")),
     ["covers.csv: the two versions differ in spaces, blank rows or the order of columns only."]),
    (dict(cafe=TOML.replace("price = 6.50", "price = 6.80")),
     ["cafe.toml: courses.salad.price was 6.50, is now 6.80."]),
    (dict(cafe=TOML.replace("cup_ml = 250\n", "")),
     ["cafe.toml: cup_ml was 250, is no longer set."]),
    (dict(cafe=TOML + '[[rules]]\nkind = "bar"\ndish = "roast"\n'),
     ["cafe.toml: rule bar (2).kind is now bar.", "cafe.toml: rule bar (2).dish is now roast."]),
    (dict(cafe=TOML + "# more to come\n"),
     ["cafe.toml: the two versions differ in comments, spaces or order only."]),
]  # fmt: skip


@pytest.mark.parametrize(("new", "sentences"), DIFFERENCES)
def test_a_difference_is_said_cell_by_cell(new: dict[str, str], sentences: list[str]) -> None:
    assert said(document(), document(**new)) == sentences


def test_rows_in_another_order_are_said_once() -> None:
    head, *rows = document().tables["dishes.csv"]
    other = {**document().tables, "dishes.csv": (head, *reversed(rows))}
    assert said(document(), Document(TOML, other)) == [
        "dishes.csv: the rows stand in another order."
    ]


@settings(max_examples=60, deadline=None)
@given(shuffled(), shuffled())
def test_only_the_same_documents_do_not_differ(one: Document, two: Document) -> None:
    assert changes(one, one) == []
    for change in (found := changes(one, two)):
        assert str(change).isprintable() and str(change).endswith(".")
    assert bool(found) == (one != two)


# -- written out, wholly or not at all ------------------------------------------


def test_a_folder_that_is_not_empty_is_left_alone(tmp_path: Path) -> None:
    folder = write_test_folder(tmp_path / "cafe")
    before = folder_document(folder)
    with pytest.raises(OutFault, match="cafe is not empty; name a new folder, or add --replace"):
        write_folder(dearer("9.00"), folder)
    (folder / "notes.txt").write_text("mine")
    with pytest.raises(OutFault, match="notes.txt, which is no table of a cafe and would be lost"):
        write_folder(dearer("9.00"), folder, replace=True)
    assert folder_document(folder) == before and (folder / "notes.txt").read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["cafe"]


def test_older_tables_are_replaced_as_a_whole(tmp_path: Path) -> None:
    folder = write_test_folder(tmp_path / "cafe")
    write_folder(document(history=None), folder, replace=True)
    assert folder_document(folder) == document(history=None)
    (tmp_path / "empty").mkdir()
    write_folder(document(), tmp_path / "empty")
    assert folder_document(tmp_path / "empty") == document()
    assert {path.name for path in tmp_path.iterdir()} == {"cafe", "empty"}


def test_a_failure_half_way_leaves_the_old_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_test_folder(tmp_path / "cafe")
    before = folder_document(folder)
    real = os.rename
    calls: list[tuple[str, str]] = []

    def rename(old: Path, new: Path) -> None:
        calls.append((Path(old).name, Path(new).name))
        if calls[-1] == ("new", "cafe"):
            raise OSError(28, "No space left on device")
        real(old, new)

    monkeypatch.setattr(os, "rename", rename)
    with pytest.raises(OutFault, match="cafe cannot be written: No space left on device"):
        write_folder(dearer("9.00"), folder, replace=True)
    assert calls == [("cafe", "old"), ("new", "cafe"), ("old", "cafe")]
    assert folder_document(folder) == before
    assert [path.name for path in tmp_path.iterdir()] == ["cafe"]


def test_a_file_is_written_once_unless_asked_to_replace(tmp_path: Path) -> None:
    write_file(b"one", tmp_path / "book.xlsx")
    with pytest.raises(OutFault, match="book.xlsx is there already"):
        write_file(b"two", tmp_path / "book.xlsx")
    assert (tmp_path / "book.xlsx").read_bytes() == b"one"
    write_file(b"two", tmp_path / "book.xlsx", replace=True)
    assert (tmp_path / "book.xlsx").read_bytes() == b"two"
    with pytest.raises(OutFault, match="cannot be written"):
        write_file(b"three", tmp_path / "nowhere" / "book.xlsx")
    assert [path.name for path in tmp_path.iterdir()] == ["book.xlsx"]


@pytest.mark.parametrize("links", [True, False])
def test_moving_to_a_new_name_never_overwrites(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:

        def link(_old: Path, _new: Path) -> None:
            raise PermissionError("a drive without links")

        monkeypatch.setattr(os, "link", link)
    (tmp_path / "made").write_text("made")
    (tmp_path / "there").write_text("there")
    with pytest.raises(FileExistsError):
        move_to_new(tmp_path / "made", tmp_path / "there")
    assert (tmp_path / "there").read_text() == "there"
    move_to_new(tmp_path / "made", tmp_path / "new")
    assert (tmp_path / "new").read_text() == "made" and not (tmp_path / "made").exists()
