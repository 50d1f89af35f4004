"""What the present plan does with the larder, as the shelf shows it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from itertools import groupby

import streamlit as st

from optimiser.cafe import Cafe
from optimiser.formats import short_day
from optimiser.larder import amount_text
from optimiser.larder_count import lots_between, stock_of
from optimiser.larder_plan import Story, leftovers, openings, stories, weight
from optimiser.order_report import orders
from optimiser.present import Present
from optimiser.report_base import day_text, money_text
from optimiser.ui.desk import Desk, desk_at, present_of
from optimiser.ui.larder_label import quiet
from optimiser.ui.look import warn


@dataclass(frozen=True)
class PlanView:
    """The present plan. `cafe`: as it was when the plan was made; `stories`: by the names
    that lots have now."""

    present: Present
    cafe: Cafe = field(repr=False)
    stories: dict[str, Story] = field(repr=False)


def plan_view(desk: Desk) -> PlanView | None:
    """The present plan of the week; None if there is none."""
    present = present_of(desk)
    if present is None:
        return None
    old = desk_at(present.revision) if present.stale else desk
    if old is None:
        return None
    told = stories(present.plan, old.cafe)
    names = lots_between(stock_of(old.document), stock_of(desk.document))
    here = {new: told[before] for before, new in names.items() if before in told}
    return PlanView(present, old.cafe, here)


def say_how_it_stands(view: PlanView | None) -> None:
    """What to think of the plan before reading what it does."""
    if view is None:
        quiet("No plan of this week yet. Plan it on The week: then each lot says its dish.")
    elif not view.present.holds:
        why = view.present.breaches
        warn(
            f"The plan kept no longer holds: {why[0].text}"
            + (f", and {len(why) - 1} more" if len(why) > 1 else "")
            + ". What it does below is out of date; plan again on The week."
        )
    elif view.present.stale:
        quiet("By the plan made before the last change of the tables; it still holds.")


def plan_parts(view: PlanView, currency: str) -> None:
    """What the plan opens, what it leaves, and what is still to come."""
    _by_day("Opened in the week", _openings(view))
    _by_day("Left when the week ends", _leftovers(view, currency))
    _by_day("Deliveries to come", _deliveries(view))


Lines = list[tuple[str, str, str]]
"""A heading, what stands out, and the rest of the sentence."""


def _openings(view: PlanView) -> Lines:
    return [
        (
            short_day(one.day),
            f"{one.units} × {one.name}",
            f"until {short_day(one.use_by)}: {', '.join((*one.story.uses, one.story.ending))}",
        )
        for one in openings(view.present.plan, view.cafe)
    ]


def _leftovers(view: PlanView, currency: str) -> Lines:
    return [
        (
            "No date" if one.use_by is None else f"Use by {day_text(one.use_by)}",
            one.name + (" (opened)" if one.opened else ""),
            f"{weight(one.grams)}, worth {money_text(one.value_cents, currency)}",
        )
        for one in leftovers(view.present.plan, view.cafe)
    ]


def _deliveries(view: PlanView) -> Lines:
    ordered = sorted(orders(view.present.plan, view.cafe), key=lambda order: order.deliver_on)
    return [
        (
            f"{short_day(order.deliver_on)}, {order.supplier.name}",
            view.cafe.name_of(buy.ingredient),
            f"{buy.packs} × {amount_text(buy.pack_qty, buy.pack_unit)}",
        )
        for order in ordered
        for buy in order.buys
    ]


def _by_day(title: str, lines: Lines) -> None:
    """A list that is drawn once it is opened."""
    if not lines:
        return
    fold = st.expander(f"{title} ({len(lines)})", key=f"larder_{title}", on_change="rerun")
    if not fold.open:
        return
    parts = []
    for heading, group in groupby(lines, key=lambda line: line[0]):
        rows = "".join(f"<li><b>{escape(what)}</b> {escape(rest)}</li>" for _, what, rest in group)
        parts.append(f"<h3>{escape(heading)}</h3><ul>{rows}</ul>")
    fold.html(f'<div class="larder-days">{"".join(parts)}</div>')
