"""What giving means, in each rule's own words: from a finished week's breaches to changes."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import Rule
from optimiser.rules.colour import ColoursDaily, MainColourCap
from optimiser.rules.kitchen import StationMinutes
from optimiser.rules.money import FoodCostPct, PortionCostCap, PurchaseBudget
from optimiser.rules.pins import Bar, NotTogether, Pin
from optimiser.rules.protein import PlateProtein, ProteinDishes
from optimiser.rules.spacing import Spacing
from optimiser.rules.stock import UseUp
from optimiser.rules.variety import HeroDaily, WeeklyCap
from optimiser.rules.words import counted, dish_word, money, on, plain

MINUTES_UP_TO, GRAMS_UP_TO, CENTS_UP_TO, PCT_UP_TO, PROTEIN_DOWN_TO = 5, 10, 100, 0.1, 0.5
"""What amounts are rounded to, always to the generous side."""


@dataclass(frozen=True)
class Change:
    """One rule giving way. `number` is its place in week.rules; None: places, no rule."""

    number: int | None
    kind: str
    title: str
    sentence: str
    days: tuple[date, ...]


Phrase = tuple[str, date | None]
"""What changes, and on which day."""


def changes_of(number: int, rule: Rule, plan: Plan, cafe: Cafe) -> list[Change]:
    """How `rule` has to give for `plan`: one change per thing, its days together."""
    breaches = rule.check(plan, cafe)
    if not breaches:
        return []
    say = WORDS.get(type(rule), _as_checked)
    return grouped(number, rule.kind, rule.title, say(rule, cafe, plan, breaches))


def grouped(number: int | None, kind: str, title: str, phrases: list[Phrase]) -> list[Change]:
    """Changes from phrases; days of the same phrase are listed after it."""
    days_of: dict[str, list[date]] = defaultdict(list)
    for phrase, day in phrases:
        days_of[phrase] += [day] if day else []
    changes = []
    for phrase, days in days_of.items():
        unique = tuple(sorted(set(days)))
        when = f" on {listed([on(day) for day in unique])}" if unique else ""
        changes.append(Change(number, kind, title, phrase + when, unique))
    return changes


def listed(words: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def up_to(amount: float, step: float) -> float:
    """The next multiple of `step`; a hundredth of a unit is rounding."""
    return math.ceil((amount - 0.01) / step - 1e-9) * step


def _as_checked(_rule: Any, _cafe: Cafe, _plan: Plan, breaches: list[Breach]) -> list[Phrase]:
    return [(f"accept that {breach.text}", None) for breach in breaches]


def _spacing(rule: Spacing, cafe: Cafe, plan: Plan, _breaches: list[Breach]) -> list[Phrase]:
    """Every pair of showings that are too close, the last one of earlier weeks included."""
    shown: dict[str, list[tuple[date, date]]] = defaultdict(list)
    for served in cafe.history if rule.from_history else ():
        if served.day < plan.week and (served.cooked > 0 or served.sold > 0):
            shown[served.dish].append((served.day, date.min))
    for row in plan.shown:
        if rule.course in (None, row.course):
            shown[row.dish].append((row.date, row.cooked_on))
    phrases: list[Phrase] = []
    for dish, days in shown.items():
        days.sort()
        for (day, cook), (later, later_cook) in zip(days, days[1:], strict=False):
            if later < plan.week or (rule.one_cook_counts_once and cook == later_cook):
                continue
            if (rest := (later - day).days) < rule.gap_days:
                name, after = cafe.name_of(dish), counted(rest, "day")
                phrases.append(
                    (f"let {name} come back after {after} instead of {rule.gap_days}", later)
                )
    return phrases


def _weekly_cap(rule: WeeklyCap, cafe: Cafe, plan: Plan, breaches: list[Breach]) -> list[Phrase]:
    phrases: list[Phrase] = []
    for breach in breaches:
        often = f"{rule.days + round(breach.amount)} days of the week instead of {rule.days}"
        week = f" from {on(breach.day)}" if breach.day and plan.days > 7 else ""
        phrases.append((f"let {_name(cafe, breach)} be shown on {often}{week}", None))
    return phrases


def _hero(rule: HeroDaily, cafe: Cafe, _plan: Plan, breaches: list[Breach]) -> list[Phrase]:
    return [
        (
            f"{rule.dishes + round(b.amount)} dishes built on {_name(cafe, b)} "
            f"instead of {rule.dishes}",
            b.day,
        )
        for b in breaches
    ]


def _main_colour(
    rule: MainColourCap, _cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    dishes = dish_word(rule.course, 2)
    return [
        (
            f"{rule.dishes + round(b.amount)} {dishes} of one main colour instead of {rule.dishes}",
            b.day,
        )
        for b in breaches
    ]


def _colours(
    rule: ColoursDaily, _cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    return [
        (f"{counted(rule.colours - round(b.amount), 'colour')} instead of {rule.colours}", b.day)
        for b in breaches
    ]


def _protein_dishes(
    rule: ProteinDishes, _cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    phrases: list[Phrase] = []
    for breach in breaches:
        number = rule.dishes - round(breach.amount)
        some = f"{number} {dish_word(rule.course, number)}"
        text = f"{some} with {plain(rule.protein_g)} g of protein instead of {rule.dishes}"
        phrases.append((text, breach.day))
    return phrases


def _plate(
    rule: PlateProtein, _cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    """The rule has one limit here: the halves of a rule with two give apart."""
    asked = rule.worst_g or rule.average_g or 0.0
    plate = "leanest" if rule.worst_g is not None else "average"
    phrases: list[Phrase] = []
    for breach in breaches:
        have = max(0.0, asked - up_to(breach.amount, PROTEIN_DOWN_TO))
        text = f"{plain(have)} g of protein on the {plate} plate instead of {plain(asked)} g"
        phrases.append((text, breach.day))
    return phrases


def _portion_cost(
    rule: PortionCostCap, cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    cap = money(cafe, rule.cap_cents)
    return [
        (
            f"let {_name(cafe, b)} cost {money(cafe, rule.cap_cents + up_to(b.amount, 1))} "
            f"a portion instead of at most {cap}",
            b.day,
        )
        for b in breaches
    ]


def _food_cost(
    rule: FoodCostPct, cafe: Cafe, plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    over_cents = sum(breach.amount for breach in breaches)
    takings_cents = plan.terms_cents["takings"]
    text = f"{money(cafe, up_to(over_cents, CENTS_UP_TO))} more of food"
    if takings_cents > 0:
        pct = up_to(rule.pct + 100 * over_cents / takings_cents + 0.01, PCT_UP_TO)
        text = f"{plain(pct)} % of the takings for food instead of {plain(rule.pct)} % ({text})"
    return [(text, None)]


def _budget(
    rule: PurchaseBudget, cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    more = up_to(sum(breach.amount for breach in breaches), CENTS_UP_TO)
    was, now = money(cafe, rule.budget_cents), money(cafe, rule.budget_cents + more)
    return [(f"{money(cafe, more)} more for purchases ({now} instead of {was})", None)]


def _station(
    rule: StationMinutes, cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    name = rule.station.replace("_", "-")
    return [
        (f"{plain(up_to(b.amount, MINUTES_UP_TO))} {name} minutes more", b.day) for b in breaches
    ]


def _use_up(_rule: UseUp, cafe: Cafe, _plan: Plan, breaches: list[Breach]) -> list[Phrase]:
    return [
        (
            f"leave {plain(up_to(b.amount, GRAMS_UP_TO))} g more of {_name(cafe, b)} unused"
            + (f" (use by {on(b.day)})" if b.day else ""),
            None,
        )
        for b in breaches
    ]


def _pin(_rule: Pin, cafe: Cafe, _plan: Plan, breaches: list[Breach]) -> list[Phrase]:
    return [(f"leave {_name(cafe, b)} out", b.day) for b in breaches]


def _bar(_rule: Bar, cafe: Cafe, _plan: Plan, breaches: list[Breach]) -> list[Phrase]:
    return [(f"let {_name(cafe, b)} in", b.day) for b in breaches]


def _not_together(
    rule: NotTogether, cafe: Cafe, _plan: Plan, breaches: list[Breach]
) -> list[Phrase]:
    names = f"{cafe.name_of(rule.a)} and {cafe.name_of(rule.b)}"
    return [(f"let {names} be in the cabinet together", b.day) for b in breaches]


def _name(cafe: Cafe, breach: Breach) -> str:
    return cafe.name_of(breach.item) if breach.item else "a dish"


WORDS: dict[type[Rule], Callable[[Any, Cafe, Plan, list[Breach]], list[Phrase]]] = {
    Spacing: _spacing,
    WeeklyCap: _weekly_cap,
    HeroDaily: _hero,
    ColoursDaily: _colours,
    MainColourCap: _main_colour,
    ProteinDishes: _protein_dishes,
    PlateProtein: _plate,
    PortionCostCap: _portion_cost,
    FoodCostPct: _food_cost,
    PurchaseBudget: _budget,
    StationMinutes: _station,
    UseUp: _use_up,
    Pin: _pin,
    Bar: _bar,
    NotTogether: _not_together,
}
"""What each kind of rule says when it gives."""
