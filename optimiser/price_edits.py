"""A new price written into offers.csv: a row of its own with the day from which it holds."""

from __future__ import annotations

from optimiser.cafe import Cafe, Offer
from optimiser.document import Document
from optimiser.document_edits import TableRow, rows_of, with_cell, with_rows

OFFERS_FILE = "offers.csv"


def with_price(document: Document, offer: Offer, price: str, from_date: str) -> Document:
    """The price of an offer for orders from a day on: its row of that day changed, or a row more
    after its others. Price and day as typed; nothing is checked. Raises KeyError if the offer
    has no row."""
    rows = rows_of(document, OFFERS_FILE)
    own = [number for number, row in enumerate(rows) if _is_of(row, offer)]
    if not own:
        raise KeyError(f"{OFFERS_FILE} has no row of {offer.ingredient} from {offer.supplier}")
    for number in own:
        line = rows[number].line
        if rows[number].get("from_date", "") == from_date and line is not None:
            return with_cell(document, OFFERS_FILE, line, "price", price)
    like = rows[own[-1]]
    names = ("ingredient", "supplier", "pack_qty", "pack_unit")
    new = TableRow({name: like[name] for name in names} | {"price": price, "from_date": from_date})
    rows.insert(own[-1] + 1, new)
    return with_rows(document, OFFERS_FILE, rows)


def with_prices_of(document: Document, before: Cafe, after: Cafe) -> Document:
    """Every price of `after` that `before`, a cafe with the same offers, has not."""
    for old, new in zip(before.offers, after.offers, strict=True):
        known = {(one.from_date, one.price_cents) for one in old.prices}
        for one in new.prices:
            if (one.from_date, one.price_cents) not in known:
                day = one.from_date.isoformat() if one.from_date else ""
                document = with_price(document, old, f"{one.price_cents / 100:.2f}", day)
    return document


def _is_of(row: TableRow, offer: Offer) -> bool:
    """Whether a row holds a price of the offer; its numbers may be written in several ways."""
    if (row["ingredient"], row["supplier"]) != (offer.ingredient, offer.supplier):
        return False
    return row["pack_unit"] == offer.pack_unit and _number(row["pack_qty"]) == offer.pack_qty


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
