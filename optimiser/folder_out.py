"""A document written out as a cafe folder or a file, wholly or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from optimiser.document import Document, csv_text, encoded
from optimiser.table_schema import FILE_ORDER, SETTINGS_FILE


class OutFault(Exception):
    """Something cannot be written where it should be; the message says why, and the mend."""


def write_folder(document: Document, folder: Path, replace: bool = False) -> None:
    """Write the tables into `folder`: a new or empty one, or (`replace`) an older cafe folder.

    The new folder is made beside it and takes its place in one go. Raises OutFault.
    """
    folder = Path(os.path.abspath(folder))
    old = _old_folder(folder, replace)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
        try:
            made = aside / "new"
            made.mkdir()
            for name, content in folder_files(document).items():
                _write(made / name, content)
            _swap(made, folder, aside / "old" if old else None)
        finally:
            shutil.rmtree(aside, ignore_errors=True)
    except OSError as error:
        raise OutFault(f"{folder.name} cannot be written: {error.strerror or error}") from error


def _old_folder(folder: Path, replace: bool) -> bool:
    """Whether there is a folder to take the place of. Raises OutFault if it may not go."""
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise OutFault(f"{folder.name} is no folder; name a new one")
    if not folder.exists():
        return False
    try:
        names = sorted(path.name for path in folder.iterdir())
    except OSError as error:
        raise OutFault(f"{folder.name} cannot be read: {error.strerror or error}") from error
    if names and not replace:
        raise OutFault(f"{folder.name} is not empty; name a new folder, or add --replace")
    if strangers := [name for name in names if name not in FILE_ORDER]:
        raise OutFault(
            f"{folder.name} holds {strangers[0]}, which is no table of a cafe and would be "
            "lost; name a new folder"
        )
    return True


def folder_files(document: Document) -> dict[str, bytes]:
    """File name -> bytes of the folder of a document."""
    files = {file: encoded(csv_text(rows)) for file, rows in document.tables.items()}
    return {SETTINGS_FILE: encoded(document.settings or ""), **files}


def _write(path: Path, content: bytes) -> None:
    """Write a file and see it onto the disk."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _swap(made: Path, folder: Path, old: Path | None) -> None:
    """Put `made` where `folder` is; if that fails, `folder` is as before."""
    if old is None:
        os.rename(made, folder)
        return
    os.rename(folder, old)
    try:
        os.rename(made, folder)
    except OSError:
        os.rename(old, folder)
        raise


def write_file(content: bytes, path: Path, replace: bool = False) -> None:
    """Write a file, in one go; an older one only with `replace`. Raises OutFault."""
    if path.is_dir():
        raise OutFault(f"{path.name} is a folder; name a file")
    if not replace and (path.exists() or path.is_symlink()):
        raise OutFault(f"{path.name} is there already; name a new file, or add --replace")
    try:
        with tempfile.TemporaryDirectory(
            prefix=f".{path.name}-", dir=path.absolute().parent
        ) as folder:
            made = Path(folder) / path.name
            _write(made, content)
            if replace:
                os.replace(made, path)
            else:
                move_to_new(made, path)
    except OSError as error:
        raise OutFault(f"{path.name} cannot be written: {error.strerror or error}") from error


def move_to_new(made: Path, path: Path) -> None:
    """Move a file to a name that is not there. Raises FileExistsError if it is by now."""
    try:
        os.link(made, path)
    except FileExistsError:
        raise
    except OSError:  # drives without links: the name is taken first
        with path.open("xb"):
            pass
        os.replace(made, path)
    else:
        made.unlink()
