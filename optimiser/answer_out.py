"""Answers as text for a terminal, as JSON and as CSV."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser.answer import COLUMNS, Answer, Grid
from optimiser.plan import Plan
from optimiser.reports import csv_text

SCHEMA = 1
FORMS = ("text", "json", "csv")


def print_answer(console: Console, answer: Answer) -> None:
    """Title, sentences, tables with their bars."""
    console.print(Text(answer.title, style="bold"))
    for line in answer.lines:
        console.print(Text(line))
    for grid in answer.grids:
        console.print(_table(grid))
    if not answer.complete:
        console.print(Text("Not answered to the end."))
    console.print()


def _table(grid: Grid) -> Table:
    table = Table(
        title=grid.title,
        title_justify="left",
        title_style="underline",
        box=None,
        padding=(0, 1, 0, 0),
    )
    for number, column in enumerate(grid.columns):
        is_left = number in (*grid.words, *grid.bars)
        table.add_column(
            Text(column),
            justify="left" if is_left else "right",
            no_wrap=number not in grid.words,
            overflow="fold",
        )
    for row in grid.rows:
        table.add_row(*(Text(cell) for cell in row))
    return table


def text_of(answers: Sequence[Answer], width: int) -> str:
    """All answers as text, for a file."""
    console = Console(width=width, no_color=True, force_terminal=False)
    with console.capture() as printed:
        for answer in answers:
            print_answer(console, answer)
    return printed.get()


def json_of(head: Mapping[str, Any], answers: Sequence[Answer], with_plans: bool) -> str:
    """One object: the head's keys, then `complete` and the answers. `with_plans`: name the files
    of the plans."""
    body: dict[str, Any] = {"schema": SCHEMA, **head}
    body["complete"] = all(answer.complete for answer in answers)
    body["answers"] = [
        {
            "question": answer.question,
            "about": answer.about,
            "complete": answer.complete,
            "sentences": list(answer.lines),
            **answer.data,
            **({"plans": _plan_names(answer)} if with_plans else {}),
        }
        for answer in answers
    ]
    return json.dumps(body, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def csv_of(answers: Sequence[Answer]) -> str:
    """All answers as rows of one table."""
    return csv_text(COLUMNS, (row for answer in answers for row in answer.rows))


def plan_files(answers: Sequence[Answer]) -> dict[str, Plan]:
    """File name -> the verified plans of all answers."""
    return {
        _plan_names(answer)[name]: plan for answer in answers for name, plan in answer.plans.items()
    }


def _plan_names(answer: Answer) -> dict[str, str]:
    parts = [part for part in (answer.question, answer.about) if part]
    return {name: "_".join([*parts, name]) + ".json" for name in answer.plans}
