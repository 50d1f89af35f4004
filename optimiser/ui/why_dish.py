"""Why a dish is on, or not: what that costs, what it pushes out, what is in its way."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape

import streamlit as st

from optimiser import wishes
from optimiser.cafe import COMPONENT, Cafe
from optimiser.document_edits import rows_of, with_cell
from optimiser.formats import short_day
from optimiser.in_the_way import Obstacle
from optimiser.plan import Plan
from optimiser.price_history import cheapest_now, unit_of
from optimiser.question_jobs import latest
from optimiser.questions import WhyIsItNotOn, WhyIsItOn
from optimiser.report_base import money_text
from optimiser.rules.base import Rule
from optimiser.steps import Step
from optimiser.ui import ask
from optimiser.ui.at_hand import AtHand
from optimiser.ui.kept_state import kept, remember, restore
from optimiser.ui.money_words import exactness, gain_words, step_words
from optimiser.ui.moved_dishes import moved_dishes
from optimiser.ui.wish_saved import keep, wish_button
from optimiser.why_not import WhyHere, WhyNot

DISH, DAY = "why_dish", "why_day"
ANY = "Any day"
DISHES_FILE = "dishes.csv"


def dish_panel(view: AtHand) -> None:
    """Ask about one dish on a day, or on any."""
    dish, day = _pick(view)
    on = view.plan.dishes_on(day) if day else _dishes_of(view.plan)
    if dish in on:
        here = WhyIsItOn(dish)
        ask.ask_button(view, here, f"Why is it on{_on(day)}?", primary=True)
        if (found := ask.answer(view, here)) is not None:
            _here(view, found)
    else:
        absent = WhyIsItNotOn(dish, day)
        ask.ask_button(view, absent, f"Why is it not on{_on(day)}?", primary=True)
        if (answer := ask.answer(view, absent)) is not None:
            _absent(view, answer)


def _on(day: date | None) -> str:
    return f" on {short_day(day)}" if day else ""


def _dishes_of(plan: Plan) -> set[str]:
    return {row.dish for row in plan.shown}


def _pick(view: AtHand) -> tuple[str, date | None]:
    """The dish and the day; after a reload those of the last question."""
    cafe = view.desk.cafe
    days: tuple[date | str, ...] = (ANY, *view.week.open_dates)
    dishes = sorted(
        (one.id for one in cafe.dishes.values() if one.course != COMPONENT), key=cafe.name_of
    )
    if not kept(DISH) and DISH not in st.session_state:
        asked = latest(view.spot, WhyIsItNotOn, WhyIsItOn)
        if isinstance(asked, WhyIsItNotOn | WhyIsItOn):
            remember(DISH, asked.dish)
            remember(DAY, getattr(asked, "day", None) or ANY)
    restore(DISH, dishes[0])
    restore(DAY, ANY)
    if st.session_state[DISH] not in dishes:
        st.session_state[DISH] = dishes[0]
    if st.session_state[DAY] not in days:
        st.session_state[DAY] = ANY
    left, right = st.columns([3, 1])
    dish: str = left.selectbox(
        "Dish", dishes, key=DISH, format_func=lambda one: _dish_words(cafe, view.plan, one)
    )
    day: date | str = right.selectbox(
        "Day",
        days,
        key=DAY,
        format_func=lambda one: one if isinstance(one, str) else short_day(one),
    )
    remember(DISH, dish)
    remember(DAY, day)
    return dish, None if isinstance(day, str) else day


def _dish_words(cafe: Cafe, plan: Plan, dish: str) -> str:
    days = sorted({row.date for row in plan.shown if row.dish == dish})
    on = f" (on {', '.join(short_day(day) for day in days)})" if days else " (not on)"
    return f"{cafe.name_of(dish)}{on}"


def _here(view: AtHand, found: WhyHere) -> None:
    currency = view.desk.cafe.currency
    first = next((step for step in found.steps if step is not None), None)
    if first is None:
        _headline("No week without it was found by changing so little.")
    else:
        _headline(f"Doing without it {step_words(first, currency)}.")
    labels = ["its places filled by others", "and one other cook changed"]
    st.html(_steps(view.desk.cafe, list(zip(labels, found.steps, strict=False))))
    st.html(f'<p class="within">{escape(exactness(found.steps))}</p>')
    wish_button(
        view.desk,
        "Leave it out this week",
        f"No {found.name} on any day",
        lambda rules: wishes.bar_dish(rules, found.dish, None),
    )


def _absent(view: AtHand, found: WhyNot) -> None:
    cafe = view.desk.cafe
    first = next((step for step in found.steps if step is not None), None)
    if first is None:
        blocked = ", ".join(found.blocked_by)
        why = f" In the way: {blocked}." if blocked else ""
        _headline(f"It cannot come in by changing up to {len(found.steps)} cooks.{why}")
    else:
        _headline(f"Having it {step_words(first, cafe.currency)}.")
    labels = ["one cook changed", "up to 2 cooks changed", "up to 3 cooks changed"]
    st.html(_steps(cafe, list(zip(labels, found.steps, strict=False))))
    st.html(f'<p class="within">{escape(exactness(found.steps))}</p>')
    _obstacles(found.obstacles, cafe.currency)
    _by_itself(view, found)
    with st.container(horizontal=True):
        _put_buttons(view, found)


def _headline(text: str) -> None:
    st.html(f'<p class="loss"><strong>{escape(text)}</strong></p>')


def _steps(cafe: Cafe, steps: Sequence[tuple[str, Step | None]]) -> str:
    """The ladder; a rung with the same menu as the one before says so."""
    lines, before = [], None
    for label, step in steps:
        if step is None:
            lines.append(f"<li><b>{escape(label)}</b>: not possible</li>")
            continue
        words = escape(step_words(step, cafe.currency))
        if before is not None and (step.enters, step.leaves) == (before.enters, before.leaves):
            lines.append(f"<li><b>{escape(label)}</b>: the same menu, {words}</li>")
        else:
            moved = moved_dishes(cafe, step.enters, step.leaves)
            lines.append(f"<li><b>{escape(label)}</b>: {words}{moved}</li>")
        before = step
    return f'<ul class="pieces">{"".join(lines)}</ul>'


def _obstacles(found: Sequence[Obstacle], currency: str) -> None:
    if not found:
        return
    lines = []
    for one in found:
        if one.gain_cents is None:
            lines.append(f"<li><b>{escape(one.title)}</b>, together with others</li>")
        else:
            words = gain_words(one.gain_cents, currency)
            lines.append(
                f"<li><b>{escape(one.title)}</b>: without it, changing one cook for it "
                f"{escape(words)}</li>"
            )
    with st.expander(f"Rules in its way ({len(found)})"):
        st.html(f'<ul class="pieces">{"".join(lines)}</ul>')


def _by_itself(view: AtHand, found: WhyNot) -> None:
    """At which prices it would come in without being told."""
    cafe, lines = view.desk.cafe, []
    if found.portion_price_cents is not None:
        now = money_text(cafe.price_cents(cafe.dishes[found.dish]), cafe.currency)
        price = money_text(found.portion_price_cents, cafe.currency)
        lines.append(f"from {price} a portion (now {now}), at the same portions")
    for entry in found.entry_prices:
        today = cheapest_now(cafe, entry.ingredient, view.week.planned_on)
        unit, _ = unit_of(cafe.ingredients[entry.ingredient])
        if entry.factor is not None and today is not None:
            price = money_text(today[1] * entry.factor, cafe.currency)
            per = "each" if unit == "each" else f"a {unit}"
            pct = f"{100 * entry.factor:.0f} % of today's"
            lines.append(f"once {entry.name} costs {price} {per} or less, {pct}")
    if names := [one.name for one in found.entry_prices if one.factor is None]:
        lines.append(f"at no price of {', '.join(names)} alone")
    if lines:
        items = "".join(f"<li>{escape(line)}</li>" for line in lines)
        st.html(f'<p class="said-line">It comes in by itself</p><ul class="pieces">{items}</ul>')


def _put_buttons(view: AtHand, found: WhyNot) -> None:
    """Have it on the days of the cheapest way, or sell it at the price from which it pays."""
    first = next((step for step in found.steps if step is not None), None)
    if first is not None:
        days = sorted({d for one in first.enters if one.dish == found.dish for d in one.shown})
        when = ", ".join(short_day(day) for day in days)

        def put(rules: Sequence[Rule]) -> Sequence[Rule]:
            for day in days:
                rules = wishes.keep_dish(rules, found.dish, day)
            return rules

        wish_button(view.desk, f"Have it on {when}", f"{found.name} on {when}", put)
    if found.portion_price_cents is not None:
        _price_button(view, found, found.portion_price_cents)


def _price_button(view: AtHand, found: WhyNot, cents: int) -> None:
    money = money_text(cents, view.desk.cafe.currency)
    if not st.button(f"Sell it at {money}".replace("$", "\\$"), key="do_price"):
        return
    document = view.desk.document
    row = next(one for one in rows_of(document, DISHES_FILE) if one["dish"] == found.dish)
    assert row.line is not None
    changed = with_cell(document, DISHES_FILE, row.line, "price", f"{cents / 100:.2f}")
    keep(view.desk, changed, f"{found.name} sells at {money}")
