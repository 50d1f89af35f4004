"""The cells of the reports as the words that `week.pdf` prints, in its order."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from itertools import groupby
from typing import Any

from optimiser.colour_letters import letters
from optimiser.cost_report import DISH, WEEK
from optimiser.formats import grouped
from optimiser.order_report import GOODS
from optimiser.prep_report import COOK, OPEN, STEP, WEIGH
from optimiser.report_base import Cell, Row, day_text, money_text, number_text
from optimiser.sheets import Contents
from optimiser.week_report import Day

ROOM = "\u200b"
"""Zero width space: a line may break here."""

JOINED = re.compile(r"([-_/])(?=\w)")
LONG = re.compile(rf"[^\s{ROOM}]{{19,}}")
CHUNK = re.compile(r"(?:.(?:(?!\w)[^\x00-\x7f])*){1,4}", re.DOTALL)
"""Up to four letters, each with the marks on it."""

NARROWEST_ROW, WIDEST_ROW = 4, 8
"""Places for dishes side by side on a page; more dishes go on below."""

LABEL_LINES = (
    (8, {"cooked_on": "Cooked on", "use_by": "Use by", "shown_on": "Shown on"}),
    (9, {"contains": "Contains"}),
    (9, {"labels_not_read": "Labels not read"}),
    (8, {"vegan": "Vegan", "gluten": "Gluten", "nuts": "Nuts"}),
    (7, {"protein_g": "Protein, g", "salt_g": "Salt, g", "fibre_g": "Fibre, g"}),
    (7, {"storage": "Storage"}),
    (7, {"caution": "Take care"}),
)
"""Lines of a label: size in points; its columns with what stands before each."""

Words = dict[str, Any]
"""Something printed, as JSON can hold it."""

Lines = list[list[str]]
"""Rows of a printed table."""


def page_words(shown: Contents) -> Words:
    """Everything that `sheets.typ` prints, and `title` and `cafe` for the document itself."""
    planned = shown.planned_on
    words: Words = softened(_page(shown))
    return {
        "title": shown.title,
        "cafe": shown.cafe,
        "planned_on": [planned.year, planned.month, planned.day],
        **words,
    }


def _page(shown: Contents) -> Words:
    return {
        "heading": shown.title,
        "currency": shown.currency,
        "bound": shown.bound,
        "broken": list(shown.broken),
        "care": list(shown.care),
        **_cabinet(shown),
        "money": _table(shown, shown.rows("costs", section=WEEK), "name", "amount"),
        "dishes": dish_costs(shown),
        "orders": [order_words(shown, rows) for rows in groups(shown.rows("order"), *VAN)],
        "prep": [_prep_day(shown, rows) for rows in groups(shown.rows("prep"), "date")],
        "labels": [_label(row) for row in shown.rows("labels")],
        "use_up": _table(
            shown,
            shown.rows("use_up"),
            *("name", "lot", "use_by", "stock_g", "used_g", "left_g", "binned_g", "used_for"),
        ),
    }


VAN = ("order_by", "deliver_on", "supplier")
"""What rows of one order share."""


def said(cell: Cell, currency: str = "") -> str:
    """A cell in words: money with its sign, a day with its weekday, nothing for None."""
    if isinstance(cell, Decimal):
        return money_text(int(cell * 100), currency)
    if isinstance(cell, date):
        return day_text(cell)
    if isinstance(cell, float):
        return grouped(cell, places=3)
    return grouped(cell, places=0) if isinstance(cell, int) else cell or ""


def softened(words: Any) -> Any:
    """The same JSON; its texts with room to break in long words."""
    if isinstance(words, str):
        return soft(words)
    if isinstance(words, dict):
        return {name: softened(word) for name, word in words.items()}
    return [softened(word) for word in words] if isinstance(words, list) else words


def soft(text: str) -> str:
    """A text whose long words may break: after - _ / and, where that is not enough,
    anywhere but before a mark that belongs to the letter before it."""
    text = JOINED.sub(rf"\1{ROOM}", text)
    return LONG.sub(lambda word: ROOM.join(CHUNK.findall(word[0])), text)


def listed_in(cell: Cell) -> list[str]:
    """The words of a cell that lists several."""
    return str(cell).split("; ") if cell else []


def groups(rows: Iterable[Row], *columns: str) -> Iterator[list[Row]]:
    """Rows that follow each other and agree in these columns."""
    for _, group in groupby(rows, key=lambda row: [row[column] for column in columns]):
        yield list(group)


def _table(shown: Contents, rows: Iterable[Row], *columns: str) -> Lines:
    return [[said(row[column], shown.currency) for column in columns] for row in rows]


# -- the cabinet ----------------------------------------------------------


def _cabinet(shown: Contents) -> Words:
    """The days with their dishes, and the letters of the colours."""
    rows = shown.rows("week")
    marks = letters(colour for row in rows for colour in listed_in(row["colours"]))
    courses = [len(row) for row in groups(rows, "date", "course")]
    width = min(WIDEST_ROW, max([NARROWEST_ROW, *courses]))
    return {
        "legend": [[colour, marks[colour]] for colour in sorted(marks)],
        "tiles": width,
        "days": [
            {
                "name": day_text(day.date),
                "facts": facts(shown, day),
                "shelves": _shelves([r for r in rows if r["date"] == day.date], marks, width),
            }
            for day in shown.days
        ],
    }


def facts(shown: Contents, day: Day) -> list[str]:
    """What a day comes to, as below the board on the terminal."""
    facts = [
        f"{number_text(day.covers)} guests",
        f"takings {money_text(day.takings_cents, shown.currency)}",
        f"{number_text(day.hands_on_min)} minutes of hands",
        f"{day.colours} colours",
    ]
    if day.protein_average_g is not None and day.protein_worst_g is not None:
        average, worst = number_text(day.protein_average_g), number_text(day.protein_worst_g)
        facts.append(f"protein of a plate {average} g on average, {worst} g at worst")
    return facts


def _shelves(rows: list[Row], marks: dict[str, str], width: int) -> list[list[Words]]:
    """Tiles of a day in rows of at most `width`. A course that does not fit beside the
    one before it starts a row."""
    shelves: list[list[Words]] = []
    for course in groups(rows, "course"):
        if not shelves or len(shelves[-1]) + len(course) > width:
            shelves.append([])
        shelves[-1] += [_tile(row, marks) for row in course]
    return shelves


def _tile(row: Row, marks: dict[str, str]) -> Words:
    unknown = [f"{topic}: unknown" for topic in listed_in(row["diets_unknown"])]
    return {
        "place": f"{row['course']} {row['place']}".replace("_", " "),
        "name": row["name"],
        "portions": said(row["portions"]),
        "colours": [[colour, marks[colour]] for colour in listed_in(row["colours"])],
        "diets": [*listed_in(row["diets"]), *unknown],
    }


# -- costs, orders, labels ------------------------------------------------


def dish_costs(shown: Contents) -> Lines:
    rows = shown.rows("costs", section=DISH)
    lines = _table(
        shown, rows, "name", "portions", "portion_cost", "portion_price", "food_cost_pct"
    )
    return [[*line[:-1], f"{line[-1]} %" if line[-1] else ""] for line in lines]


def order_words(shown: Contents, rows: list[Row]) -> Words:
    """One order: goods by name, then fee and total."""
    head = rows[0]
    goods = [
        [f"{row['name']}{' (keeps)' * (row['dry'] == 'yes')}" if row["line"] == GOODS
         else str(row["line"]).capitalize(),
         *(said(row[column], shown.currency) for column in ("packs", "pack", "cost"))]
        for row in rows
    ]  # fmt: skip
    return {
        "name": f"{head['supplier_name']}, comes {said(head['deliver_on'])}",
        "by": f"{head['supplier_name']}: order by {said(head['order_by'])} {said(head['cut_off'])}",
        "lines": goods,
    }


def _label(row: Row) -> Words:
    lines: list[list[Any]] = []
    for size, columns in LABEL_LINES:
        pairs = [[words, said(row[column])] for column, words in columns.items()]
        if filled := [pair for pair in pairs if pair[1]]:
            lines.append([size, filled])
    return {"name": row["name"], "lines": lines}


# -- prep sheets ----------------------------------------------------------


def _prep_day(shown: Contents, rows: list[Row]) -> Words:
    """The tasks of a day by kind; lines to weigh by cook, steps by station."""
    tasks = {task: [row for row in rows if row["task"] == task] for task in (COOK, OPEN)}
    weighs = (row for row in rows if row["task"] == WEIGH)
    steps = (row for row in rows if row["task"] == STEP)
    return {
        "name": said(rows[0]["date"]),
        "cooks": _table(
            shown, tasks[COOK], "name", "portions", "hands_on_min", "text", "then_use_by"
        ),
        "opens": _table(
            shown,
            tasks[OPEN],
            *("item_name", "units", "purchased_g", "lot", "lot_use_by", "then_use_by"),
        ),
        "weighs": [
            {"name": f"{dish[0]['name']}: {said(dish[0]['portions'])} portions",
             "lines": [weigh_words(row) for row in dish]}
            for dish in groups(weighs, "dish")
        ],
        "stations": [
            {"name": str(station[0]["station"]).replace("_", " ").capitalize(),
             "steps": [_step(row) for row in station]}
            for station in groups(steps, "station")
        ],
    }  # fmt: skip


def weigh_words(row: Row) -> list[str]:
    what = f"{row['item_name']} ({row['text']})" if row["text"] else said(row["item_name"])
    amount = f"{said(row['qty'])} {row['unit']}"
    return [what, amount, *(said(row[column]) for column in ("edible_g", "purchased_g", "lot"))]


def _step(row: Row) -> list[str]:
    ahead = row["cook_on"] != row["date"]
    dish = f"{row['name']}, for {said(row['cook_on'])}" if ahead else said(row["name"])
    minutes = f"{said(row['minutes_as_written'])} for {said(row['text_for_portions'])}"
    return [dish, said(row["portions"]), said(row["step"]), said(row["text"]), minutes]
