"""The cabinet as HTML: days side by side, shelf by shelf. Every name is escaped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from optimiser.cabinet_view import Front, Shelf, Tag, Tray
from optimiser.cafe import Cafe
from optimiser.colour_letters import letters
from optimiser.formats import short_day, weekday
from optimiser.report_base import money_text, number_text
from optimiser.ui.look import chips, paint
from optimiser.week import Week
from optimiser.week_report import Day

HEAD_AND_FOOT = 2
FREE = '<div class="free"></div>'


def cabinet_html(fronts: Sequence[Front], cafe: Cafe) -> str:
    """All days, and what the letters and tags mean."""
    rows = HEAD_AND_FOOT + len(cafe.courses)
    days = "".join(_front(front, cafe) for front in fronts)
    strip = "".join(
        f'<button type="button" data-show="{front.day.date}" aria-pressed="false">'
        f"{escape(weekday(front.day.date))}</button>"
        for front in fronts
    )
    return (
        f'<div class="strip" role="group" aria-label="Day shown">{strip}</div>'
        f'<div class="days" style="--days:{len(fronts)};--rows:{rows}">{days}</div>'
        f"{_legend(fronts)}"
    )


def empty_html(week: Week) -> str:
    """The cabinet before there is a plan: its days and shelves, each place still free."""
    shelves = "".join(
        f'<div class="shelf"><h3>{_title(course)}</h3>{FREE * facts.slots}</div>'
        for course, facts in week.cafe.courses.items()
    )
    days = "".join(
        f'<div class="day{" on" * (day == week.open_dates[0])}"><div class="head">'
        f"<span>{escape(short_day(day))}</span></div>{shelves}</div>"
        for day in week.open_dates
    )
    rows = 1 + len(week.cafe.courses)
    style = f"--days:{len(week.open_dates)};--rows:{rows}"
    cabinet = f'<div class="days" style="{style}">{days}</div>'
    return f'<div class="cabinet" aria-hidden="true">{cabinet}</div>'


def _front(front: Front, cafe: Cafe) -> str:
    day = front.day
    name = short_day(day.date)
    guests = number_text(day.covers)
    kept = _mark("kept") if front.kept else ""
    shelves = "".join(_shelf(shelf) for shelf in front.shelves)
    return (
        f'<section class="day" data-day="{day.date}" aria-label="{escape(name)}">'
        f'<h2><button type="button" class="head" data-pick="day|{day.date}" '
        f'aria-label="{escape(name)}, {guests} guests: change this day">'
        f"<span>{escape(name)} {kept}</span><small>{guests} guests ⋯</small></button></h2>"
        f"{shelves}{_foot(day, cafe)}</section>"
    )


def _shelf(shelf: Shelf) -> str:
    trays = "".join(_tray(tray) for tray in shelf.trays)
    gone = ""
    if shelf.gone:
        names = ", ".join(escape(name) for name in shelf.gone)
        gone = f'<p class="gone">gone: <s>{names}</s></p>'
    return f'<div class="shelf"><h3>{_title(shelf.course)}</h3>{trays}{gone}</div>'


def _title(course: str) -> str:
    return escape(course.replace("_", " "))


def _tray(tray: Tray) -> str:
    marks = _mark("new") * tray.fresh + _mark("kept") * tray.kept
    bands = "".join(f'<i class="{paint(colour)}"></i>' for colour in tray.colours)
    cooked = f"<span>from {escape(weekday(tray.cooked_on))}</span>"
    tags = "".join(_tag(tag) for tag in tray.tags)
    protein = f"{'' if tray.protein_known else '≥ '}{number_text(tray.protein_g)} g"
    return (
        f'<button type="button" class="tray{" fresh" * tray.fresh}" '
        f'data-pick="dish|{tray.day}|{escape(tray.dish, quote=True)}">'
        f'<span class="bands" aria-hidden="true">{bands}</span><span class="what">'
        f'<span class="name">{marks}{escape(tray.name)}</span>'
        f'<span class="facts">{chips(tray.colours)}{_worded(f"×{tray.portions}", "portions")}'
        f"{_worded(protein, 'protein')}"
        f"{cooked if tray.cooked_on != tray.day else ''}{tags}</span></span></button>"
    )


def _foot(day: Day, cafe: Cafe) -> str:
    limits = cafe.kitchen.hands_on_min
    minutes = number_text(day.hands_on_min)
    if limits is not None:
        minutes += f" of {number_text(limits[day.date.weekday()])}"
    lines = [
        ("takings", money_text(day.takings_cents, cafe.currency)),
        ("food cost", money_text(day.food_cents, cafe.currency)),
        ("minutes", minutes),
    ]
    if day.protein_average_g is not None and day.protein_worst_g is not None:
        plate = f"{number_text(day.protein_average_g)}, least {number_text(day.protein_worst_g)} g"
        lines.append(("protein a plate", plate))
    rows = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in lines)
    return f'<dl class="foot">{rows}</dl>'


def _legend(fronts: Iterable[Front]) -> str:
    trays = [tray for front in fronts for shelf in front.shelves for tray in shelf.trays]
    found = letters(colour for tray in trays for colour in tray.colours)
    colours = "".join(
        f"<span>{chips([colour])} {escape(colour)}</span>" for colour in sorted(found)
    )
    words = {tag for tray in trays for tag in tray.tags}
    rest = "".join(f"<span>{_tag(tag)} {escape(tag.full)}</span>" for tag in sorted(words, key=str))
    numbers = "<span>×20: portions</span><span>g: protein a portion</span>"
    return f'<div class="legend">{colours}{numbers}{rest}</div>'


def _worded(number: str, word: str) -> str:
    """A number; where there is room, with its word."""
    return f'<span>{escape(number)}<span class="word"> {word}</span></span>'


def _tag(tag: Tag) -> str:
    full = escape(tag.full, quote=True)
    return (
        f'<span class="tag" title="{full}"><span aria-hidden="true">{escape(tag.short)}</span>'
        f'<span class="unseen">{full}</span></span>'
    )


def _mark(word: str) -> str:
    return f'<span class="mark">{word}</span> '
