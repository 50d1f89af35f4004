"""The shelf: every lot by how soon it has to be used, and `use this up` in one tap."""

from __future__ import annotations

from html import escape

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optimiser.document_edits import with_rules
from optimiser.larder import (
    CAUTION,
    CountFrom,
    Shelf,
    Urgency,
    asked_by,
    own_rule,
    shelves,
    why_not,
    with_use_up,
    without_use_up,
)
from optimiser.larder_count import Draft, applied, lot_lines, stock_of
from optimiser.larder_list import with_stock
from optimiser.larder_plan import Story
from optimiser.rules.base import Rule
from optimiser.ui.desk import Desk, save
from optimiser.ui.larder_label import quiet, short_label
from optimiser.ui.larder_plan_view import plan_parts, plan_view, say_how_it_stands
from optimiser.ui.look import empty, warn
from optimiser.week import Week

FOLDED = (Urgency.LATER, Urgency.UNDATED)
"""Groups that wait to be opened: there is no hurry with them."""


def shelf(desk: Desk, week: Week, counting: CountFrom) -> None:
    """Draw the view."""
    rows = shelves(week, counting.day)
    if not rows:
        empty("The larder is empty", "Add a lot, or bring in a counted list.")
        return
    if counting.note:
        quiet(counting.note)
    _overview(rows)
    view = plan_view(desk)
    say_how_it_stands(view)
    told = view.stories if view else {}
    for group in Urgency:
        _group(desk, week, group, [row for row in rows if row.urgency is group], told)
    if view:
        plan_parts(view, desk.cafe.currency)


def _overview(rows: list[Shelf]) -> None:
    """How many lots are in each group."""
    counts = [(group, sum(row.urgency is group for row in rows)) for group in Urgency]
    inside = "".join(
        f'<span class="lot-mark lot-{group.look}"><b>{number}</b>&nbsp;{group.mark} '
        f"{escape(group.heading.lower())}</span>"
        for group, number in counts
        if number
    )
    st.html(f'<div class="lot-overview">{inside}</div>')


def _group(
    desk: Desk, week: Week, group: Urgency, rows: list[Shelf], told: dict[str, Story]
) -> None:
    if not rows:
        return
    place: DeltaGenerator
    if group in FOLDED:
        fold = st.expander(
            f"{group.mark} {group.heading} ({len(rows)})",
            key=f"larder_fold_{group.look}",
            on_change="rerun",
        )
        if not fold.open:
            return
        place = fold.container(key=f"larder_group_{group.look}")
    else:
        with st.container(key=f"larder_head_{group.look}"):
            st.header(f"{group.mark} {group.heading}", anchor=False)
            if group is Urgency.PAST:
                warn(CAUTION)
        place = st.container(key=f"larder_group_{group.look}")
    with place:
        for row in rows:
            _lot(desk, week, row, told.get(row.lot.id))


def _lot(desk: Desk, week: Week, row: Shelf, story: Story | None) -> None:
    """One lot: what it is, what the plan does with it, and the tap."""
    with st.container(border=True, key=f"lot_{row.lot.id}"):
        st.html(_card(desk, week, row, story))
        _tap(desk, week, row)


def _tap(desk: Desk, week: Week, row: Shelf) -> None:
    """The one thing to do with a lot."""
    rules, lot = desk.reading.rules, row.lot
    called = f"{row.name}, {row.amount} ({lot.id})"
    if row.urgency is Urgency.PAST:
        if st.button(short_label("Taken out", called), key=f"out_{lot.id}"):
            _take_out(desk, row)
    elif own_rule(rules, lot):
        if st.button(short_label("Take back", f"use up {called}"), key=f"back_{lot.id}"):
            less = without_use_up(rules, lot)
            _save_rules(desk, less, f"No longer to be used up: {row.name} ({lot.id})")
    elif not why_not(row, week):
        if st.button(short_label("Use this up", called), key=f"use_{lot.id}"):
            _save_rules(desk, with_use_up(rules, lot), f"Use up {row.name} ({lot.id})")


def _card(desk: Desk, week: Week, row: Shelf, story: Story | None) -> str:
    """The words of a lot as HTML."""
    group = row.urgency
    lines = [
        f'<div class="lot-head"><b>{escape(row.name)}</b> <span>{escape(row.amount)}</span> '
        f"<i>{escape(row.lot.state.value)}</i></div>",
        f'<div><span class="lot-mark lot-{group.look}">{group.mark} {escape(row.when)}</span>'
        "</div>",
    ]
    if row.opened_life:
        lines.append(f'<div class="lot-quiet">{escape(row.opened_life)}</div>')
    lines += [f'<div class="lot-quiet">{escape(text)}</div>' for text in _asked(desk, week, row)]
    if story is not None:
        uses = "".join(f"<li>{escape(use)}</li>" for use in story.uses)
        mark = "✕ " if story.binned else "→ "
        ending = f'<div class="lot-end">{mark}{escape(story.ending)}</div>'
        lines.append((f'<ul class="lot-uses">{uses}</ul>' if uses else "") + ending)
    return f'<div class="lot">{"".join(lines)}</div>'


def _asked(desk: Desk, week: Week, row: Shelf) -> list[str]:
    """Rules about this lot, or why there can be none."""
    if own_rule(desk.reading.rules, row.lot):
        return ["✓ to be used up this week: plan again to see how"]
    if row.urgency is Urgency.PAST:
        return []
    if why := why_not(row, week):
        return [f"cannot be planned: {why}"]
    others = asked_by(desk.reading.rules, row.lot, week)
    share_pct = max((rule.share_pct for rule in others), default=0.0)
    asked = "all of it" if share_pct == 100 else f"{share_pct:g} % of it"
    return [f"a rule wants {asked} used this week"] if others else []


def _save_rules(desk: Desk, rules: tuple[Rule, ...], message: str) -> None:
    if save(with_rules(desk.document, rules), message, desk):
        st.rerun()


def _take_out(desk: Desk, row: Shelf) -> None:
    """The lot leaves the stock table, and rules about it go too."""
    records = stock_of(desk.document)
    draft = Draft(records).counted(lot_lines(records)[row.lot.id], "0")
    stock = with_stock(desk.document, desk.reading, *applied(draft))
    if save(stock.document, f"Taken out, past its date: {row.name} {row.amount}", desk):
        st.rerun()
