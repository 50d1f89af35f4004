"""What an ingredient has cost: every offer's prices over time, per kilogram or piece."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Cafe, Form, Ingredient, Offer
from optimiser.larder import amount_text


@dataclass(frozen=True)
class PricePoint:
    """Cents per unit for orders from a day on."""

    day: date
    cents: float


@dataclass(frozen=True)
class OfferHistory:
    """One offer's prices, oldest first; the last one holds until `until`."""

    offer: Offer
    title: str
    points: tuple[PricePoint, ...]


def unit_of(ingredient: Ingredient) -> tuple[str, float]:
    """What an ingredient is priced by, and the grams in one: `each` for whole things, else `kg`."""
    if ingredient.form is Form.WHOLE and ingredient.piece_g:
        return "each", ingredient.piece_g
    return "kg", 1000.0


def offer_title(cafe: Cafe, offer: Offer) -> str:
    """`Marrowby Produce, 5 kg`."""
    pack = amount_text(offer.pack_qty, offer.pack_unit)
    return f"{cafe.suppliers[offer.supplier].name}, {pack}"


def price_histories(cafe: Cafe, ingredient: str, until: date) -> list[OfferHistory]:
    """The prices of each offer, up to and at a day; later ones that are known come after it.

    A price without a date is told from the first dated one on, or from `until`.
    """
    _, unit_g = unit_of(cafe.ingredients[ingredient])
    offers = cafe.offers_of.get(ingredient, ())
    dated = [p.from_date for offer in offers for p in offer.prices if p.from_date is not None]
    first = min([*dated, until])
    histories = []
    for offer in offers:
        steps = [(p.from_date or first, p.price_cents) for p in offer.prices]
        points = [PricePoint(day, cents * unit_g / offer.pack_g) for day, cents in steps]
        if (now := offer.price_cents_on(until)) is not None:
            points.append(PricePoint(until, now * unit_g / offer.pack_g))
        points.sort(key=lambda point: point.day)
        histories.append(OfferHistory(offer, offer_title(cafe, offer), tuple(points)))
    return histories


def cheapest_now(cafe: Cafe, ingredient: str, day: date) -> tuple[Offer, float] | None:
    """The offer that costs least per unit on a day, and its cents; None if nobody sells it yet."""
    _, unit_g = unit_of(cafe.ingredients[ingredient])
    best: tuple[Offer, float] | None = None
    for offer in cafe.offers_of.get(ingredient, ()):
        pack_cents = offer.price_cents_on(day)
        if pack_cents is None:
            continue
        cents = pack_cents * unit_g / offer.pack_g
        if best is None or cents < best[1]:
            best = offer, cents
    return best


def span_until(history: OfferHistory, until: date) -> tuple[date, float, float]:
    """Since when prices of an offer are known, the lowest and the highest of them up to a day."""
    points = [point for point in history.points if point.day <= until]
    cents = [point.cents for point in points]
    return points[0].day, min(cents), max(cents)
