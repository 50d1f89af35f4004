"""At which prices of one ingredient the best menu changes, and what is on between them.

With x the price as a factor of today's, every menu with its packs earns a + b·x: takings do not
depend on the price, what is bought, binned and left does so in proportion. The best of them is
V(x) = max over menus of (a + b·x): convex, piecewise linear. Its corners are found without
sampling: where the lines of two ends meet, either nothing is better, and that is a corner, or
another line is, and both halves are searched in the same way.

The menus are the plan's own and those with one cook changed, on the plan's days of delivery.
Rules that look at costs (food cost, portion cost) are kept as they judge at today's prices.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from optimiser.cafe import Form
from optimiser.change_prices import PriceChange
from optimiser.costs import Costs
from optimiser.model import Model
from optimiser.near import Change, Near, Watched
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.progress import Report
from optimiser.report_base import money_text, number_text
from optimiser.runs import Run, Sizes
from optimiser.solver import Values
from optimiser.steps import Placed, placed
from optimiser.week import Week

CORNER_CENTS = 0.5
"""A line that is better by less is no other line."""
NARROWEST = 1e-4
"""Corners closer together than this (in factors of today's price) are one."""


@dataclass(frozen=True)
class Line:
    """What one menu with its packs earns near a price: `cents` at factor `at`, `slope` per 1."""

    at: float
    cents: float
    slope: float
    near: Near

    @property
    def menu(self) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
        """What tells the menu from the plan's."""
        return self.near.enters, self.near.leaves

    def cents_at(self, factor: float) -> float:
        """The same menu and packs at another price."""
        return self.cents + self.slope * (factor - self.at)


@dataclass(frozen=True)
class Piece:
    """From factor `low` to `high` of today's price one menu is best: the plan's with `enters`
    in the place of `leaves`. Margins in cents at both ends, of that menu and of the plan's."""

    low: float
    high: float
    enters: tuple[Placed, ...]
    leaves: tuple[Placed, ...]
    best_low_cents: float
    best_high_cents: float
    kept_low_cents: float
    kept_high_cents: float


@dataclass(frozen=True)
class PriceRange:
    """The best menus over a range of prices of an ingredient.

    `today_cents` a `unit` (kg, l or each) now; `low`, `high` and those of the pieces are factors
    of it. `complete`: not stopped; else the pieces end where it was stopped.
    """

    ingredient: str
    name: str
    unit: str
    today_cents: float
    low: float
    high: float
    pieces: tuple[Piece, ...]
    complete: bool
    already_cents: float | None = None
    """What one change brings at today's price, before any price moves."""

    @property
    def safe_until(self) -> float | None:
        """The factor above today's price at which another menu becomes best; None: none does."""
        return next(
            (p.high for p in self.pieces if p.low <= 1 < p.high and p.high < self.high), None
        )

    def sentences(self, currency: str) -> list[str]:
        """What happens as the price moves, one line a piece."""
        if not self.pieces:
            return [f"{self.name}: nothing was found out before it was stopped."]
        lines = [self._safe(currency)]
        for piece in self.pieces:
            ends = " to ".join(self._price(f, currency) for f in (piece.low, piece.high))
            lines.append(f"{ends}: {_menu_words(piece)}")
        if not self.complete:
            lines.append("Stopped: dearer prices were not looked at.")
        return lines

    def _safe(self, currency: str) -> str:
        if self.pieces[0].low > 1 or self.pieces[-1].high < 1:
            return f"{self.name}: today's price lies outside the range."
        now = next(piece for piece in self.pieces if piece.low <= 1 <= piece.high)
        if now.enters:
            more = money_text(self.already_cents or 0, currency)
            return f"One change pays already at today's price, by {more}: {_menu_words(now)}."
        if self.safe_until is None:
            end = number_text(self.pieces[-1].high)
            return f"Changing one cook does not pay even if {self.name} costs {end} times today's."
        price = self._price(self.safe_until, currency)
        return f"Safe until {self.name} costs {self.safe_until:.2f} times today's: {price}."

    def _price(self, factor: float, currency: str) -> str:
        return f"{money_text(self.today_cents * factor, currency)}/{self.unit}"


def _menu_words(piece: Piece) -> str:
    if not piece.enters:
        return "this week's menu"
    coming = ", ".join(one.words() for one in piece.enters)
    going = ", ".join(one.words() for one in piece.leaves)
    return f"{coming} instead of {going}"


class PriceLine:
    """A plan's menus at other prices of one ingredient."""

    def __init__(self, near: Nearby, ingredient: str) -> None:
        """Raises ValueError if the ingredient cannot be bought this week."""
        self._near = near
        double = PriceChange(of="ingredient", name=ingredient, pct=100.0).apply(near.week)
        sizes: Sizes = {}
        for run in near.model.runs:
            sizes.setdefault((run.dish, run.cook_day, run.shown), set()).add(run.portions)
        # Rules earn nothing by themselves; what some want to be there is worth something, though.
        stocking = tuple(rule for rule in double.rules if rule.stocks(double.cafe))
        twice = Model(replace(double, rules=stocking), sizes).lp
        gains = dict(zip(twice.names, twice.gain, strict=True))
        lp = near.lp
        self._slopes = [
            gains.get(name, gain) - gain for name, gain in zip(lp.names, lp.gain, strict=True)
        ]
        self._slope = twice.constant - lp.constant

    def near_at(self, factor: float) -> Nearby:
        """The same menus where the ingredient costs `factor` times today's price."""
        lp = self._near.lp
        gain = [g + (factor - 1) * s for g, s in zip(lp.gain, self._slopes, strict=True)]
        return self._near.with_gains(gain, lp.constant + (factor - 1) * self._slope)

    def slope_of(self, values: Values) -> float:
        """Cents that a week loses or gains as the price doubles."""
        moving = zip(self._slopes, values, strict=True)
        return self._slope + sum(slope * value for slope, value in moving if slope)


class Envelope:
    """The best line at each price, among the plan's menu and the exchanges given."""

    def __init__(self, line: PriceLine, found: Sequence[Change], watch: Watched) -> None:
        self._line, self._found, self._watch = line, found, watch
        self._known: dict[float, Line] = {}

    def best(self, factor: float) -> Line:
        """The best menu at a price."""
        if factor not in self._known:
            near = self._line.near_at(factor)
            kept = near.kept
            assert kept is not None, "a price alone never makes a menu impossible"
            limits = [(near.gain(change.exchange), n) for n, change in enumerate(self._found)]
            found = [(gain, n) for gain, n in limits if gain is not None]
            best = kept
            for gain, n in sorted(found, key=lambda pair: (-pair[0], pair[1])):
                if near.blocks.margin + gain <= best.margin_cents + 0.01:
                    break
                weighed = near.weigh(self._found[n].exchange)
                if weighed is not None and weighed.margin_cents > best.margin_cents:
                    best = weighed
            slope = self._line.slope_of(best.values)
            self._known[factor] = Line(factor, best.margin_cents, slope, best)
            self._watch.looked(f"price x {factor:.3f}", best.margin_cents)
        return self._known[factor]

    def kept_cents(self, factor: float) -> float:
        """What the plan's own menu earns at a price."""
        kept = self._line.near_at(factor).kept
        assert kept is not None
        return kept.margin_cents

    def corners(self, low: float, high: float) -> Iterator[tuple[float, Line, Line]]:
        """Prices at which the best line changes, from the left, with the lines beside them."""
        ahead = [(self.best(low), self.best(high))]
        while ahead:
            left, right = ahead.pop()
            meet = _meeting(left, right)
            if meet is None:
                continue
            if meet - left.at < NARROWEST or right.at - meet < NARROWEST:
                yield meet, left, right
                continue
            middle = self.best(meet)
            if middle.cents <= left.cents_at(meet) + CORNER_CENTS:
                yield meet, left, right
            else:
                ahead += [(middle, right), (left, middle)]


def _meeting(left: Line, right: Line) -> float | None:
    """Where two lines meet between their prices; None if one holds all the way."""
    if right.cents <= left.cents_at(right.at) + CORNER_CENTS:
        return None
    if left.cents <= right.cents_at(left.at) + CORNER_CENTS:
        return None
    meet = (right.cents_at(0) - left.cents_at(0)) / (left.slope - right.slope)
    return min(max(meet, left.at), right.at)


def breakpoints(
    week: Week,
    plan: Plan,
    ingredient: str,
    low: float = 0.25,
    high: float = 3.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
) -> PriceRange:
    """Prices of an ingredient at which changing one cook begins to pay, and what comes in.

    Raises ValueError if the plan's menu cannot be kept or the ingredient cannot be bought.
    """
    near = near or Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    line = PriceLine(near, ingredient)
    found, _ = near.all_changes(report, stop)
    envelope = Envelope(line, found, Watched(report, near.kept.margin_cents))
    unit, today_cents = unit_price(week, ingredient)
    pieces, complete = _pieces(envelope, near, (low, high), stop)
    name = week.cafe.name_of(ingredient)
    already = envelope.best(1.0).cents - near.kept.margin_cents
    return PriceRange(ingredient, name, unit, today_cents, low, high, pieces, complete, already)


def _pieces(
    envelope: Envelope, near: Nearby, ends: tuple[float, float], stop: threading.Event | None
) -> tuple[tuple[Piece, ...], bool]:
    """Stretches with one menu; corners at which only packs change are passed over."""
    low, high = ends
    pieces: list[Piece] = []
    start, complete = low, True
    if stop is not None and stop.is_set():
        return (), False
    last = envelope.best(low)
    for factor, left, right in envelope.corners(low, high):
        if left.menu != right.menu and factor - start >= NARROWEST:
            pieces.append(_piece(envelope, near, left, start, factor))
            start = factor
        last = right
        if stop is not None and stop.is_set():
            complete = False
            break
    if complete:
        pieces.append(_piece(envelope, near, last, start, high))
    return tuple(pieces), complete


def _piece(envelope: Envelope, near: Nearby, line: Line, low: float, high: float) -> Piece:
    cafe = near.week.cafe
    return Piece(
        low=low,
        high=high,
        enters=tuple(placed(run, cafe) for run in line.near.enters),
        leaves=tuple(placed(run, cafe) for run in line.near.leaves),
        best_low_cents=envelope.best(low).cents,
        best_high_cents=envelope.best(high).cents,
        kept_low_cents=envelope.kept_cents(low),
        kept_high_cents=envelope.kept_cents(high),
    )


def unit_price(week: Week, ingredient: str) -> tuple[str, float]:
    """What an ingredient is priced by, and the cents of one today (its cheapest offer)."""
    item = week.cafe.ingredients[ingredient]
    per_g = Costs(week.cafe, week.planned_on).per_g(ingredient)
    if item.form is Form.WHOLE and item.piece_g:
        return "each", per_g * item.piece_g
    return "kg", per_g * 1000
