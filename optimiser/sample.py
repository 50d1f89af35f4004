"""The sample cafe that ships with the program."""

from __future__ import annotations

from pathlib import Path

from optimiser.document import Document, folder_document

NAME = "sample_data"


def sample_folder() -> Path:
    """Its folder: inside an installed package, beside the package in a checkout."""
    package = Path(__file__).parent
    inside = package / NAME
    return inside if inside.is_dir() else package.parent / NAME


def sample_document() -> Document:
    """Its tables. Raises TableFaults."""
    return folder_document(sample_folder())
