"""Small documents for the tests of the store."""

from __future__ import annotations

from optimiser.document import Document, parse_csv
from optimiser.table_schema import TABLES
from tests.cafe_folder import FILES, edited


def document(**overrides: str | None) -> Document:
    """The tables of `cafe_folder`, any of them replaced; None leaves one out."""
    files = {**FILES, **overrides}
    names = [one.file for one in TABLES]
    texts = {name: files[name.removesuffix(".csv")] for name in names}
    tables = {name: parse_csv(text) for name, text in texts.items() if text is not None}
    return Document(files["cafe"], tables)


def dearer(price: str) -> Document:
    """The same tables with another price of tofu salad."""
    return document(dishes=edited("dishes", "price", "tofu_salad", price))
