"""The larder in words: every lot by its last day, and the rules that it be used up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from optimiser import formats
from optimiser.cafe import Cafe, Form, Ingredient, Lot, State
from optimiser.report_base import day_text
from optimiser.rules.base import Rule
from optimiser.rules.stock import UseUp
from optimiser.rules.words import counted
from optimiser.units import EACH, PORTION
from optimiser.week import Week, last_day

SOON_DAYS, WEEK_DAYS = 2, 6
"""Days after the day counted from that are `soon`, and that are `this week`."""

NEAR_DAYS = 180
"""Days from now within which a date needs no year."""

FAR_DAYS = 3
"""Further than this from the week planned, today says nothing of its stock."""

CAUTION = (
    "Not to be used. Your local food-safety code and the label come first: "
    "nothing here makes food last longer."
)


class Urgency(Enum):
    """How soon a lot has to be used: heading, mark, and the name of its look."""

    PAST = ("Past its date", "✕", "past")
    TODAY = ("Use today", "▲", "today")
    SOON = ("In 2 days", "◆", "soon")
    WEEK = ("This week", "●", "week")
    LATER = ("Later", "○", "later")
    UNDATED = ("No date", "–", "undated")

    def __init__(self, heading: str, mark: str, look: str) -> None:
        self.heading, self.mark, self.look = heading, mark, look


@dataclass(frozen=True)
class CountFrom:
    """The day that days left are counted from; `note` says why if it is not today."""

    day: date
    note: str = ""


def count_from(week: Week, today: date) -> CountFrom:
    """Today; for a week fixed in cafe.toml that is far from today, the day it is planned."""
    near = timedelta(days=FAR_DAYS)
    if week.cafe.week is None or week.planned_on - near <= today <= week.last + near:
        return CountFrom(today)
    note = (
        f"Days left are counted from {day_text(week.planned_on)}, when the week from "
        f"{day_text(week.start)} is planned (cafe.toml names that week). "
        f"Today is {day_text(today)}."
    )
    gone = [lot for lot in week.cafe.stock if week.planned_on <= last_day(lot.use_by) < today]
    if gone:
        note += f" By today's date {counted(len(gone), 'more lot')} would be past it."
    return CountFrom(week.planned_on, note)


@dataclass(frozen=True)
class Shelf:
    """A lot as the larder shows it. `days_left`: days after the day counted from on which
    it may still be used; negative: past it; None: no date. `missed`: its last day comes
    before the week opens, so that no plan of that week can use it."""

    lot: Lot
    name: str
    urgency: Urgency
    days_left: int | None
    missed: bool
    opened_days: int | None

    @property
    def amount(self) -> str:
        """What there is, in its own unit."""
        return amount_text(self.lot.qty, self.lot.unit)

    @property
    def when(self) -> str:
        """Its last day in words; the year is told where it is not near."""
        if self.days_left is None or self.lot.use_by is None:
            return "no date on it"
        far = abs(self.days_left) > NEAR_DAYS
        last = day_text(self.lot.use_by) if far else formats.short_day(self.lot.use_by)
        if self.days_left < 0:
            return f"was to be used by {last}, {counted(-self.days_left, 'day')} ago"
        near = {0: "today is its last day", 1: "until tomorrow"}
        return f"{near.get(self.days_left, f'{self.days_left} more days')}, {last}"

    @property
    def opened_life(self) -> str:
        """How long it keeps once opened; blank where that means nothing."""
        if self.opened_days is None:
            return ""
        days = counted(self.opened_days, "day")
        if self.lot.state is State.OPENED:
            return f"opened, {days} at most from opening"
        return f"{days} once opened"


def amount_text(qty: float, unit: str) -> str:
    """A quantity in its own unit: `3 pieces`, `1.8 kg`, `6 portions`."""
    number = formats.number(qty, places=3)
    word = {EACH: "piece", PORTION: "portion"}.get(unit)
    if word is None:
        return f"{number} {unit}"
    return f"{number} {word if qty <= 1 else word + 's'}"


def shelves(week: Week, day: date) -> list[Shelf]:
    """Every lot in stock, the shortest-lived first."""
    cafe = week.cafe
    found = [_shelf(cafe, lot, day, week.open_dates[0]) for lot in cafe.stock]
    return sorted(found, key=lambda one: (last_day(one.lot.use_by), one.name, one.lot.id))


def _shelf(cafe: Cafe, lot: Lot, day: date, opening: date) -> Shelf:
    days_left = None if lot.use_by is None else (lot.use_by - day).days
    return Shelf(
        lot=lot,
        name=cafe.name_of(lot.item),
        urgency=urgency(days_left),
        days_left=days_left,
        missed=last_day(lot.use_by) < opening,
        opened_days=_opened_days(cafe.ingredients.get(lot.item), lot),
    )


def _opened_days(thing: Ingredient | None, lot: Lot) -> int | None:
    """Days that it keeps once opened, for what is opened or will be."""
    if thing is None or lot.state is State.COOKED:
        return None
    if lot.state is State.WHOLE and thing.form is not Form.WHOLE:
        return None
    return thing.opened_keeps_days


def urgency(days_left: int | None) -> Urgency:
    """The group a lot belongs to."""
    if days_left is None:
        return Urgency.UNDATED
    limits = ((-1, Urgency.PAST), (0, Urgency.TODAY), (SOON_DAYS, Urgency.SOON))
    for most, found in (*limits, (WEEK_DAYS, Urgency.WEEK)):
        if days_left <= most:
            return found
    return Urgency.LATER


def own_rule(rules: Sequence[Rule], lot: Lot) -> UseUp | None:
    """The rule that asks for this lot alone."""
    return next((rule for rule in rules if isinstance(rule, UseUp) and rule.lot == lot.id), None)


def asked_by(rules: Sequence[Rule], lot: Lot, week: Week) -> list[UseUp]:
    """Other rules that want this lot used."""
    found = (rule for rule in rules if isinstance(rule, UseUp) and rule.lot is None)
    return [rule for rule in found if rule.wants(lot, week.start)]


def why_not(shelf: Shelf, week: Week) -> str:
    """Why this lot cannot be asked to be used up; blank if it can."""
    if shelf.urgency is Urgency.PAST:
        return "past its date: not to be used"
    if shelf.missed:
        return f"its last day comes before {day_text(week.open_dates[0])}, when the week opens"
    dishes = week.cafe.dishes.values()
    if not any(line.item == shelf.lot.item for dish in dishes for line in dish.lines):
        return "no recipe uses it"
    return ""


def with_use_up(rules: Sequence[Rule], lot: Lot) -> tuple[Rule, ...]:
    """The rules, and one that all of this lot is cooked this week."""
    if own_rule(rules, lot) is not None:
        return tuple(rules)
    return (*rules, UseUp(lot=lot.id, item=lot.item))


def without_use_up(rules: Sequence[Rule], lot: Lot) -> tuple[Rule, ...]:
    """The rules without those that ask for this lot alone."""
    return tuple(r for r in rules if not (isinstance(r, UseUp) and r.lot == lot.id))
