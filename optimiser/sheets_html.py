"""The sheets as HTML that reads well on a screen and prints well, from the same words as
`week.pdf`. Every text is escaped."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from html import escape

from optimiser.cost_report import WEEK
from optimiser.prep_report import COOK, OPEN, STEP, WEIGH
from optimiser.report_base import Row
from optimiser.sheets import SERVE_NOTHING, Contents
from optimiser.sheets_words import (
    LABEL_LINES,
    VAN,
    dish_costs,
    facts,
    groups,
    listed_in,
    order_words,
    said,
    weigh_words,
)

Line = tuple[Sequence[str], str]
"""Cells of a row in words, and a note below it; blank: none."""

Chips = Callable[[Sequence[str]], str]
"""HTML of the chips of some colours."""

PAGE, WHOLE = "page", "whole"
"""How a part lies on paper."""

NUMBER = "#"
"""Before a heading: its column holds numbers, to stand at the right."""


def week_board(shown: Contents, chips: Chips) -> str:
    """The cabinet day by day, each day whole on a page if it fits."""
    rows = shown.rows("week")
    days = []
    for day in shown.days:
        mine = [row for row in rows if row["date"] == day.date]
        if mine:
            courses = "".join(_course(course, chips) for course in groups(mine, "course"))
            what = f'<p class="facts">{escape(" · ".join(facts(shown, day)))}</p>{courses}'
            days.append(_part(said(day.date), what))
    return sheet(shown, "The cabinet", f"<p>{escape(shown.bound)}</p>{''.join(days)}", shown.care)


def _course(rows: list[Row], chips: Chips) -> str:
    name = str(rows[0]["course"]).replace("_", " ").capitalize()
    tiles = "".join(f"<li>{_tile(row, chips)}</li>" for row in rows)
    return f'<div class="whole"><h4>{escape(name)}</h4><ul class="tiles">{tiles}</ul></div>'


def _tile(row: Row, chips: Chips) -> str:
    unknown = [f"{topic}: unknown" for topic in listed_in(row["diets_unknown"])]
    diets = "; ".join([*listed_in(row["diets"]), *unknown])
    protein = f"protein {said(row['protein_g'])} g"
    if row["protein_unknown"]:
        protein = f"protein {said(row['protein_g'])} g at least, rest unknown"
    return (
        f"<b>{escape(said(row['portions']))} × {escape(said(row['name']))}</b> "
        f"{chips(listed_in(row['colours']))}"
        f"<small>{escape('; '.join(part for part in (diets, protein) if part))}</small>"
    )


def order_list(shown: Contents) -> str:
    """What to order, a part for each delivery of each supplier."""
    parts = []
    for rows in groups(shown.rows("order"), *VAN):
        order = order_words(shown, rows)
        lines = [(line, "") for line in order["lines"]]
        heads = ("What", "#Packs", "Pack", f"#{shown.currency}")
        parts.append(_part(order["name"], table(order["by"], heads, lines), WHOLE))
    return sheet(shown, "Order list", "".join(parts) or _nothing("orders"))


def prep_list(shown: Contents) -> str:
    """What to cook, cut and do, a page for each day."""
    days = [_prep_day(shown, rows) for rows in groups(shown.rows("prep"), "date")]
    return sheet(shown, "Prep list", "".join(days) or _nothing("tasks"), shown.holding)


def _prep_day(shown: Contents, rows: list[Row]) -> str:
    cooks = [
        (_said(row, "name", "portions", "hands_on_min", "then_use_by"), said(row["text"]))
        for row in rows
        if row["task"] == COOK
    ]
    opens = [
        (
            _said(row, "item_name", "units", "purchased_g", "then_use_by"),
            f"{row['lot']}, use by {_use_by(row, 'lot_use_by')}",
        )
        for row in rows
        if row["task"] == OPEN
    ]
    parts = [
        table("Cook", ("Dish", "#Portions", "#Hands-on, min", "Use by"), cooks),
        table("Cut or open", ("What", "#Pieces", "#Grams", "Use by once open"), opens),
    ]
    steps = [row for row in rows if row["task"] == STEP]
    for station in groups(steps, "station"):
        name = str(station[0]["station"]).replace("_", " ").capitalize()
        steps_of = f'<ol class="steps flow">{_steps(station, dish=True)}</ol>'
        parts.append(f"<h4>{escape(name)}</h4>{steps_of}")
    return _part(said(rows[0]["date"]), "".join(parts), PAGE)


def recipes(shown: Contents) -> str:
    """Recipes scaled to the portions of each cook, by the day of the cook."""
    rows = [row for row in shown.rows("prep") if row["task"] in (WEIGH, STEP)]
    rows.sort(key=lambda row: str(row["cook_on"]))
    days = []
    for day in groups(rows, "cook_on"):
        dishes = dict.fromkeys(row["dish"] for row in day if row["task"] == WEIGH)
        cards = "".join(_recipe([row for row in day if row["dish"] == dish]) for dish in dishes)
        flow = f'<div class="flow">{cards}</div>'
        days.append(_part(said(day[0]["cook_on"]), flow, PAGE))
    return sheet(shown, "Recipes", "".join(days) or _nothing("recipes"), shown.holding)


def _recipe(rows: list[Row]) -> str:
    lines = [_weigh(row) for row in rows if row["task"] == WEIGH]
    steps = sorted((row for row in rows if row["task"] == STEP), key=lambda row: row["step"] or 0)
    title = f"{said(rows[0]['name'])}: {said(rows[0]['portions'])} portions"
    heads = ("What", "#Amount", "#Ready, g", "#Bought, g")
    method = f'<ol class="steps">{_steps(steps, dish=False)}</ol>' if steps else ""
    return f"<div>{table(title, heads, lines)}{method}</div>"


def _weigh(row: Row) -> Line:
    *cells, lots = weigh_words(row)
    return cells, lots and f"from {lots}"


def _steps(rows: Iterable[Row], dish: bool) -> str:
    """Steps with their minutes as written; `dish`: what they belong to stands before."""
    found = []
    for row in rows:
        ahead = row["cook_on"] != row["date"]
        when = f", for {said(row['cook_on'])}" if ahead and dish else ""
        if ahead and not dish:
            when = f"On {said(row['date'])}: "
        whose = f"<b>{escape(said(row['name']) + when)}</b> " if dish else escape(when)
        number = f"{said(row['step'])}. " if dish else ""
        minutes = said(row["minutes_as_written"])
        written = f" ({minutes} min for {said(row['text_for_portions'])})" if minutes else ""
        text = escape(f"{number}{said(row['text'])}")
        found.append(f"<li>{whose}{text}<small>{escape(written)}</small></li>")
    return "".join(found)


def labels(shown: Contents) -> str:
    """A card for each cook, to cut out."""
    cards = "".join(f'<li class="label">{_label(row)}</li>' for row in shown.rows("labels"))
    body = f'<ul class="labels">{cards}</ul>' if cards else _nothing("labels")
    return sheet(shown, "Labels", body, shown.care)


def _label(row: Row) -> str:
    lines = []
    for _, columns in LABEL_LINES:
        pairs = [(words, said(row[column])) for column, words in columns.items()]
        line = " · ".join(f"<b>{escape(k)}:</b> {_marked(v)}" for k, v in pairs if v)
        lines.append(f"<p>{line}</p>" if line else "")
    return f"<h4>{escape(said(row['name']))}</h4>{''.join(lines)}"


def _marked(text: str) -> str:
    """What nobody knows stands out."""
    return escape(text).replace("unknown", "<strong>unknown</strong>")


def use_up(shown: Contents) -> str:
    """What becomes of each lot."""
    grams = ("stock_g", "used_g", "left_g", "binned_g")
    lines = [
        (
            [said(row["name"]), _use_by(row, "use_by"), *_said(row, *grams)],
            f"{row['lot']}: {row['used_for'] or 'not used'}",
        )
        for row in shown.rows("use_up")
    ]
    heads = ("What", "Use by", "#Stock, g", "#Used, g", "#Left, g", "#Binned, g")
    body = table("Stock, the shortest-lived first", heads, lines) or _nothing("stock")
    return sheet(shown, "Use-up list", body, (SERVE_NOTHING,))


def costs(shown: Contents) -> str:
    """The money of the week, then of each dish."""
    week = [
        ([said(row["name"]), said(row["amount"], shown.currency)], _share(row))
        for row in shown.rows("costs", section=WEEK)
    ]
    dishes = [(line, "") for line in dish_costs(shown)]
    heads = ("Dish", "#Portions", "#Cost", "#Price", "#Food cost")
    tables = (
        table("Money of the week", ("What", f"#{shown.currency}"), week),
        table("Dishes", heads, dishes),
    )
    return sheet(shown, "Costs", f"<p>{escape(shown.bound)}</p>{''.join(tables)}")


def _share(row: Row) -> str:
    pct = said(row["food_cost_pct"])
    return f"{pct} % of takings" if pct else ""


# -- parts ------------------------------------------------------------------


def sheet(shown: Contents, name: str, body: str, care: Sequence[str] = ()) -> str:
    """One sheet: its title, the body, what to watch."""
    points = "".join(f"<li>{_marked(line)}</li>" for line in care)
    watch = f'<section class="care"><h3>Take care</h3><ul>{points}</ul></section>' if care else ""
    stale = (
        f'<p class="stale" role="note"><b>!</b> {escape(shown.stale)}</p>' if shown.stale else ""
    )
    planned = f"Planned on {said(shown.planned_on)}"
    return (
        f'<article class="sheet" lang="en"><h2>{escape(name)}</h2>'
        f"<p>{escape(shown.title)} · {escape(planned)}</p>{stale}{body}{watch}</article>"
    )


def table(caption: str, heads: Sequence[str], lines: Sequence[Line]) -> str:
    """A table with its caption; nothing without lines."""
    if not lines:
        return ""
    sides = ["n" if head.startswith(NUMBER) else "" for head in heads]
    top = "".join(
        f'<th scope="col" class="{side}">{escape(head.removeprefix(NUMBER))}</th>'
        for side, head in zip(sides, heads, strict=True)
    )
    body = "".join(f"<tbody>{_line(line, sides)}</tbody>" for line in lines)
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{escape(caption, quote=True)}">'
        f"<table><caption>{escape(caption)}</caption><thead><tr>{top}</tr></thead>"
        f"{body}</table></div>"
    )


def _line(line: Line, sides: Sequence[str]) -> str:
    """A row, and one for its note."""
    words, note = line
    first, *rest = (
        f'class="{side}">{escape(word)}' for word, side in zip(words, sides, strict=True)
    )
    cells = f'<th scope="row" {first}</th>' + "".join(f"<td {cell}</td>" for cell in rest)
    small = f'<tr><td colspan="{len(sides)}"><small>{escape(note)}</small></td></tr>'
    return f"<tr>{cells}</tr>{small if note else ''}"


def _part(title: str, body: str, on_paper: str = "") -> str:
    """A part with its heading. `on_paper`: `page` starts one, `whole` stays on one."""
    return f'<section class="part {on_paper}"><h3>{escape(title)}</h3>{body}</section>'


def _said(row: Row, *columns: str) -> list[str]:
    return [said(row[column]) for column in columns]


def _use_by(row: Row, column: str) -> str:
    return said(row[column]) or "no date"


def _nothing(what: str) -> str:
    return f"<p>No {escape(what)} for this choice.</p>"
