"""`explain`: can the rules hold, why is a dish on or not, what do rules and swaps cost."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from optimiser.asking import Asking, Handing
from optimiser.cafe import WEEKDAYS
from optimiser.formats import use_locale
from optimiser.name_find import find_dish
from optimiser.places import read_place
from optimiser.plan_command import BadInput
from optimiser.report_base import day_text
from optimiser.rules.words import unknown
from optimiser.week import Week

if TYPE_CHECKING:
    from optimiser.answer import Answer
    from optimiser.ask_run import Question
    from optimiser.base_plan import Base
    from optimiser.progress import Report
    from optimiser.rule_prices import RulePrice
    from optimiser.runs import Run

T = TypeVar("T")


@dataclass(frozen=True)
class Explain:
    """What was asked, as text. `on`: a date or weekday, for why not and swaps. `within_cents`:
    how much less other weeks may earn. `each_seconds`: for the price of one rule."""

    asking: Asking
    why: tuple[str, ...] = ()
    why_not: tuple[str, ...] = ()
    swap: tuple[str, ...] = ()
    on: str | None = None
    rules: tuple[str, ...] = ()
    all_rules: bool = False
    each_seconds: float = 20.0
    other_weeks: int = 0
    within_cents: int = 2500

    @property
    def nothing_asked(self) -> bool:
        """Whether only the verb was given."""
        asked = (*self.why, *self.why_not, *self.swap, *self.rules)
        return not (asked or self.all_rules or self.other_weeks)


@dataclass(frozen=True)
class Read:
    """What was asked, read against the tables: ids of dishes, places in week.rules."""

    why: tuple[str, ...]
    why_not: tuple[str, ...]
    swap: tuple[str, ...]
    on: date | None
    rules: tuple[int, ...]


def explain_command(asked: Explain, handing: Handing) -> int:
    """Answer as asked; the exit code. Raises TableFaults, StoreFault, BadInput,
    KeyboardInterrupt."""
    held = read_place(asked.asking.folder)
    use_locale(held.reading.cafe.locale)
    from optimiser.asked_of import answered, asked_week, handed_in, rules_hold  # loads the solver

    earlier = handed_in(asked.asking)
    week = asked_week(asked.asking, held, earlier)
    read = _read(asked, week)
    handing.refuse()
    if asked.nothing_asked:
        return rules_hold(asked.asking, week, handing)
    ask = partial(_questions, asked, read)
    return answered("explain", asked.asking, held, week, earlier, ask, handing)


# -- what was typed -------------------------------------------------------


def _read(asked: Explain, week: Week) -> Read:
    """Everything that was asked. Raises BadInput with every fault."""
    faults: list[str] = []

    def all_of(option: str, texts: tuple[str, ...], read: Callable[[str], T]) -> list[T]:
        found = []
        for text in texts:
            try:
                found.append(read(text))
            except ValueError as error:
                faults.append(f"{option} {error}")
        return found

    dish = partial(find_dish, week.cafe)
    why = all_of("--why", asked.why, dish)
    why_not = all_of("--why-not", asked.why_not, dish)
    swap = all_of("--swap", asked.swap, dish)
    on = all_of("--on", (asked.on,) if asked.on else (), partial(open_day, week))
    if asked.on and not (asked.why_not or asked.swap):
        faults.append(f"--on {asked.on}: say of which dish, with --why-not or --swap")
    rules = [
        n for found in all_of("--rule", asked.rules, partial(rules_meant, week)) for n in found
    ]
    if faults:
        raise BadInput("\n".join(faults))
    if asked.all_rules:
        rules = list(range(len(week.rules)))
    day = on[0] if on else None
    return Read(tuple(why), tuple(why_not), tuple(swap), day, tuple(dict.fromkeys(rules)))


def open_day(week: Week, text: str) -> date:
    """An open day of the week from a date or a weekday. Raises ValueError."""
    named = text.strip().lower()
    found = [day for day in week.open_dates if named in (day.isoformat(), WEEKDAYS[day.weekday()])]
    if len(found) == 1:
        return found[0]
    days = ", ".join(day_text(day) for day in week.open_dates)
    why = "comes more than once; write a date" if found else f"is no open day of this week: {days}"
    raise ValueError(f"{text}: {why}")


def rules_meant(week: Week, text: str) -> list[int]:
    """Places in week.rules of a number (from 1) or of all rules of a kind. Raises ValueError."""
    named = text.strip().lower()
    if named.isdigit():
        if 1 <= int(named) <= len(week.rules):
            return [int(named) - 1]
        raise ValueError(f"{text}: rules have the numbers 1 to {len(week.rules)}; `explain` alone "
                         "lists them")  # fmt: skip
    found = [number for number, rule in enumerate(week.rules) if rule.kind == named]
    if not found:
        raise ValueError(
            unknown("rule of this cafe of the kind", text, [r.kind for r in week.rules])
        )
    return found


# -- questions ------------------------------------------------------------


def _questions(asked: Explain, read: Read, base: Base, stop: threading.Event) -> list[Question]:
    """Each with the plan that was found. Raises BadInput with what does not fit that plan."""
    from optimiser.ask_run import Question

    cafe = base.week.cafe
    swaps = _fitting(read, base)
    questions = [
        Question(f"Why {cafe.name_of(dish)}?", partial(_why, asked, dish, base, stop))
        for dish in read.why
    ]
    questions += [
        Question(f"Why not {cafe.name_of(dish)}?",
                 partial(_why_not, asked, dish, read.on, base, stop))
        for dish in read.why_not
    ]  # fmt: skip
    questions += [
        Question(f"Instead of {cafe.name_of(run.dish)}", partial(_swap, run, base, stop))
        for run in swaps
    ]
    prices: list[RulePrice] = []
    questions += [
        Question(f"Rule {n + 1} of {len(base.week.rules)}: {base.week.rules[n].title}",
                 partial(_rule, asked, n, prices, base, stop))
        for n in read.rules
    ]  # fmt: skip
    if len(read.rules) > 1:
        questions.append(Question("Rules by what they cost", partial(_ranking, prices, base)))
    if asked.other_weeks:
        questions.append(Question("Other good weeks", partial(_weeks, asked, base, stop)))
    return questions


def _fitting(read: Read, base: Base) -> list[Run]:
    """The cooks that swaps are asked for. Raises BadInput with all that the plan has not, or has
    already."""
    cafe = base.week.cafe
    faults: list[str] = []
    swaps: list[Run] = []
    for dish in read.why:
        if not _cooks(base, dish, None):
            name = cafe.name_of(dish)
            faults.append(f"--why {dish}: {name} is not in this plan; ask --why-not")
    for dish in read.why_not:
        if _cooks(base, dish, read.on):
            name = cafe.name_of(dish)
            when = "" if read.on is None else f" on {day_text(read.on)}"
            faults.append(f"--why-not {dish}: {name} is in this plan{when}; ask --why, or give "
                          "another day with --on")  # fmt: skip
    for dish in read.swap:
        cooks = _cooks(base, dish, read.on)
        if len(cooks) == 1:
            swaps.append(cooks[0])
            continue
        days = sorted({day for run in _cooks(base, dish, None) for day in run.shown})
        there = ", ".join(day_text(day) for day in days)
        mend = f"give --on with one of {there}" if days else "it is not in this plan"
        faults.append(f"--swap {dish}: {mend}")
    if faults:
        raise BadInput("\n".join(faults))
    return swaps


def _cooks(base: Base, dish: str, day: date | None) -> list[Run]:
    """Cooks of a dish in the plan, on show that day if one is given."""
    return [run for run in base.near.menu if run.dish == dish and (day is None or day in run.shown)]


def _why(asked: Explain, dish: str, base: Base, stop: threading.Event, report: Report) -> Answer:
    from optimiser.answer_dishes import why_answer
    from optimiser.why_not import why_here

    seconds = asked.asking.seconds
    found = why_here(base.week, base.plan, dish, 1, seconds, report, stop, base.near)
    return why_answer(found, base.plan.currency, complete=not stop.is_set())


def _why_not(
    asked: Explain, dish: str, day: date | None, base: Base, stop: threading.Event, report: Report
) -> Answer:
    from optimiser.answer_dishes import why_not_answer
    from optimiser.why_not import why_not

    seconds = asked.asking.seconds
    found = why_not(base.week, base.plan, dish, day, 3, seconds, report, stop, base.near)
    return why_not_answer(found, base.plan.currency, complete=not stop.is_set())


def _swap(run: Run, base: Base, stop: threading.Event, report: Report) -> Answer:
    from optimiser.answer_dishes import swap_answer
    from optimiser.swaps import swap_costs

    found = swap_costs(base.week, base.plan, run.dish, run.cook_day, report, stop, base.near)
    name, currency = base.week.cafe.name_of(run.dish), base.plan.currency
    return swap_answer(found, run.dish, name, run.cook_day, currency, complete=not stop.is_set())


def _rule(
    asked: Explain, number: int, prices: list[RulePrice], base: Base, stop: threading.Event,
    report: Report,
) -> Answer:  # fmt: skip
    """The price of one rule, which is also added to `prices`."""
    from optimiser.answer_rules import rule_answer
    from optimiser.rule_prices import price_of_rule

    seconds = asked.each_seconds
    found = price_of_rule(base.week, base.plan, number, seconds, report, stop, base.near)
    prices.append(found)
    answer = rule_answer(found, base.week.rules[number].kind)
    return replace(answer, complete=not stop.is_set())


def _ranking(prices: list[RulePrice], base: Base, report: Report) -> Answer:
    from optimiser.answer_rules import ranking_answer

    return ranking_answer(prices, base.plan.currency)


def _weeks(asked: Explain, base: Base, stop: threading.Event, report: Report) -> Answer:
    from optimiser.answer_dishes import weeks_answer
    from optimiser.good_weeks import good_weeks

    count, within, seconds = asked.other_weeks, asked.within_cents, asked.asking.seconds
    found = good_weeks(base.week, base.plan, within, count, seconds, report, stop)
    return weeks_answer(found, base.plan, base.week.cafe, within, complete=not stop.is_set())
