"""Tables and stores as files that go through a browser, in and out; what comes in is
limited in size before it is unpacked."""

from __future__ import annotations

import io
import tempfile
import zipfile
from pathlib import Path, PurePosixPath

from optimiser.book import read_book
from optimiser.document import Document, folder_document
from optimiser.folder_out import folder_files
from optimiser.store import Revision, Store, head_of_backup
from optimiser.table_rows import MAX_BYTES
from optimiser.table_schema import FILE_ORDER

MAX_TABLES_MB, MAX_BACKUP_MB = 12, 200
MOST_PARTS = 200
"""Files in a ZIP: a folder has ten, and an archiver may add some of its own."""

STAMP = (1980, 1, 1, 0, 0, 0)
"""Of every file in a ZIP: the same files give the same bytes."""


class UploadFault(Exception):
    """A file that cannot be taken; the message says why, and the mend."""


def packed(files: dict[str, bytes]) -> bytes:
    """Files as a ZIP."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name, STAMP), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def folder_zip(document: Document) -> bytes:
    """The folder of a document as a ZIP."""
    return packed(folder_files(document))


def read_tables_file(name: str, content: bytes) -> Document:
    """The tables of a ZIP of a folder, or of a workbook. Raises UploadFault, TableFaults."""
    if len(content) > MAX_TABLES_MB * 1_000_000:
        raise UploadFault(f"{name} is over {MAX_TABLES_MB} MB; leave old rows out")
    suffix = PurePosixPath(name).suffix.lower()
    if suffix == ".zip":
        return _read_zip(name, content)
    if suffix != ".xlsx":
        raise UploadFault(f"{name} is no ZIP of a folder and no workbook (.xlsx)")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "tables.xlsx"
        path.write_bytes(content)
        return read_book(path)


def _read_zip(name: str, content: bytes) -> Document:
    """The tables in a ZIP, at its top or in one folder."""
    try:
        files = _unpacked(name, content)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise UploadFault(f"{name} cannot be unpacked; pack it again without a password") from error
    with tempfile.TemporaryDirectory() as folder:
        for file, text in files.items():
            (Path(folder) / file).write_bytes(text)
        return folder_document(Path(folder))


def _unpacked(name: str, content: bytes) -> dict[str, bytes]:
    """The tables' bytes by file name; no part is unpacked beyond what a table may hold."""
    found: dict[str, bytes] = {}
    folders = set()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = archive.infolist()
        if len(parts) > MOST_PARTS:
            raise UploadFault(f"{name} holds {len(parts)} files; pack the cafe's folder alone")
        for part in parts:
            path = PurePosixPath(part.filename.replace("\\", "/"))
            if part.is_dir() or path.name not in FILE_ORDER or "__MACOSX" in path.parts:
                continue
            folders.add(path.parent)
            with archive.open(part) as stream:
                found[path.name] = stream.read(MAX_BYTES + 1)
            if len(found[path.name]) > MAX_BYTES:
                raise UploadFault(f"{path.name} in {name} is over {MAX_BYTES / 1e6:g} MB")
    if not found:
        raise UploadFault(f"{name} holds none of {', '.join(FILE_ORDER)}")
    if len(folders) > 1:
        raise UploadFault(f"{name} holds tables in several folders; pack one folder alone")
    return found


def store_backup(store: Store) -> bytes:
    """The whole store as one file, itself a store. Raises StoreFault."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "backup.db"
        store.backup(path)
        return path.read_bytes()


def read_backup(name: str, content: bytes) -> tuple[Revision, Document]:
    """The newest tables of a backup. Raises UploadFault, StoreFault."""
    if len(content) > MAX_BACKUP_MB * 1_000_000:
        raise UploadFault(f"{name} is over {MAX_BACKUP_MB} MB; restore it on the command line")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "backup.db"
        path.write_bytes(content)
        return head_of_backup(path)
