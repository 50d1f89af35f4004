"""Tables and stores through a browser: there and back, limited, explained."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from optimiser import exchange
from optimiser.book import write_book
from optimiser.document import Document, folder_document
from optimiser.exchange import UploadFault, folder_zip, packed, read_backup, read_tables_file
from optimiser.store import Store, StoreFault
from optimiser.table_faults import TableFaults
from tests.cafe_folder import write_folder


@pytest.fixture
def bench(tmp_path: Path) -> Document:
    return folder_document(write_folder(tmp_path / "bench"))


def test_a_folder_and_a_workbook_come_back_as_they_went(bench: Document):
    assert read_tables_file("a.zip", folder_zip(bench)) == bench
    assert read_tables_file("A.XLSX", write_book(bench)) == bench
    assert folder_zip(bench) == folder_zip(bench)


def files_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_one_folder_inside_and_what_archivers_add_are_no_trouble(bench: Document):
    inside = {f"my cafe\\{name}": text for name, text in files_of(folder_zip(bench)).items()}
    more = {"__MACOSX/my cafe/stock.csv": b"\x00", "my cafe/notes.txt": b"mine"}
    assert read_tables_file("a.zip", packed(inside | more)) == bench


def test_names_that_climb_out_are_read_by_their_last_part_only(bench: Document, tmp_path: Path):
    climbing = {f"../../{name}": text for name, text in files_of(folder_zip(bench)).items()}
    assert read_tables_file("a.zip", packed(climbing)) == bench
    assert not list(tmp_path.parent.glob("cafe.toml"))


def test_two_folders_are_refused(bench: Document):
    twice = {f"{top}/{name}": text for top in "ab" for name, text in files_of(
        folder_zip(bench)).items()}  # fmt: skip
    with pytest.raises(UploadFault, match="several folders"):
        read_tables_file("a.zip", packed(twice))


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.zip", b"no zip", "cannot be unpacked"),
        ("a.zip", packed({"else.txt": b""}), "holds none of cafe.toml"),
        ("a.zip", packed({f"{n}.txt": b"" for n in range(300)}), "holds 300 files"),
        ("a.zip", packed({"stock.csv": bytes(10_000_001)}), "stock.csv in a.zip is over 10 MB"),
        ("a.pdf", b"", "no ZIP of a folder and no workbook"),
        ("a", b"", "no ZIP of a folder and no workbook"),
        ("a.zip", bytes(12_000_001), "over 12 MB"),
    ],
)
def test_what_cannot_be_taken_is_explained(name: str, content: bytes, words: str):
    with pytest.raises(UploadFault, match=words):
        read_tables_file(name, content)


def test_faults_of_the_tables_name_row_and_column(bench: Document):
    files = files_of(folder_zip(bench)) | {
        "stock.csv": b"item,qty,unit,use_by,state\nx,1,g,,whole\n"
    }
    with pytest.raises(TableFaults, match="stock.csv:2:item: x"):
        read_tables_file("a.zip", packed(files))
    with pytest.raises(TableFaults, match="not a workbook"):
        read_tables_file("a.xlsx", b"nothing")


def test_a_backup_is_a_store_and_gives_its_tables(
    bench: Document, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    with Store.open(tmp_path / "a.db", create=True) as store:
        store.save(bench, "Ada", "The bench", None)
        content = exchange.store_backup(store)
    kept, document = read_backup("backup.db", content)
    assert document == bench and kept.message == "The bench"
    for bad in (b"", b"SQLite format 3\x00" + bytes(500), content[: len(content) // 2]):
        with pytest.raises(StoreFault):
            read_backup("backup.db", bad)
    monkeypatch.setattr(exchange, "MAX_BACKUP_MB", 0)
    with pytest.raises(UploadFault, match="over 0 MB"):
        read_backup("backup.db", content)
