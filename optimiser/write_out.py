"""Files of a plan into a directory, all of them or none."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path


def write_out(directory: Path, contents: Mapping[str, str | bytes]) -> None:
    """Write each text as a UTF-8 file and bytes as they are, moved into place in the order
    given.

    Everything is first written to a directory beside `directory`; only complete
    files are moved, so that the last name is there only with all before it.
    Raises OSError.
    """
    refuse_unwritable(directory, contents)
    directory.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(prefix=f".{directory.name}-", dir=directory.parent))
    try:
        for name, content in contents.items():
            if isinstance(content, bytes):
                (aside / name).write_bytes(content)
            else:
                (aside / name).write_text(content, encoding="utf-8", newline="")
        for name in contents:
            os.replace(aside / name, directory / name)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def refuse_unwritable(directory: Path, names: Iterable[str]) -> None:
    """Raise OSError if `directory` cannot take these files, before any work is done."""
    for name in names:
        if (directory / name).is_dir():
            raise IsADirectoryError(f"{directory / name} is a directory")
    nearest = directory
    while not nearest.exists() and nearest != nearest.parent:
        nearest = nearest.parent
    if not nearest.is_dir():
        raise NotADirectoryError(f"{nearest} is not a directory")
    for place in {nearest, directory.parent} if nearest == directory else {nearest}:
        if not os.access(place, os.W_OK | os.X_OK):
            raise PermissionError(f"{place} cannot be written to")
