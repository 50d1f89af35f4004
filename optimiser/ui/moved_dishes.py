"""Dishes that come in and leave, with their colours, as HTML."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.formats import short_day
from optimiser.steps import Placed
from optimiser.ui.look import chips


def moved_dishes(cafe: Cafe, enters: Sequence[Placed], leaves: Sequence[Placed]) -> str:
    """A list: what comes in, then what leaves."""
    lines = [_line(cafe, "In", one) for one in enters]
    lines += [_line(cafe, "Out", one) for one in leaves]
    return f'<ul class="moves">{"".join(lines)}</ul>' if lines else ""


def _line(cafe: Cafe, sign: str, one: Placed) -> str:
    days = ", ".join(short_day(day) for day in one.shown)
    colours = chips(nutrition.colours(cafe, one.dish)) if one.dish in cafe.dishes else ""
    words = escape(f"{one.portions} × {one.name}, {days}")
    return f'<li><span class="sign">{sign}</span><span>{words} {colours}</span></li>'
