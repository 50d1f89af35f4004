"""The week on a terminal: days across, courses down, then the money and what to watch."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import zip_longest

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser import nutrition
from optimiser.board_words import sections
from optimiser.cafe import Cafe
from optimiser.colour_letters import STYLES, letters
from optimiser.cost_report import TERM_NAMES
from optimiser.display_order import in_order
from optimiser.formats import short_day
from optimiser.plan import TERMS, Breach, Plan
from optimiser.report_base import day_text, money_text, number_text
from optimiser.reports import days
from optimiser.week import open_dates

DAY_WIDTH = 21
"""The narrowest a day's column may get; more days go into a second block."""

LABEL_WIDTH = 12


def print_week(
    console: Console,
    plan: Plan,
    cafe: Cafe,
    priced: Sequence[Breach] = (),
    only_near: int | None = None,
) -> None:
    """Print a verified plan. `priced` are the broken rules that have a price; with
    `only_near` the bound holds for weeks with at most so many cooks changed."""
    dates = open_dates(cafe, plan.week, plan.days)
    console.print(Text(f"{cafe.name}: {day_text(dates[0])} to {day_text(dates[-1])}", style="bold"))
    marks = letters(colour for row in plan.shown for colour in nutrition.colours(cafe, row.dish))
    for block in blocks(dates, console.width):
        console.print(_board(plan, cafe, block, marks))
    if marks:
        legend = ", ".join(f"{letter} {colour}" for colour, letter in sorted(marks.items()))
        console.print(Text(f"Colours: {legend}"))
    console.print(_money(plan))
    console.print(Text(bound_sentence(plan, only_near)))
    for title, lines in sections(plan, cafe, priced):
        console.print()
        console.print(Text(title, style="bold"))
        for line in lines:
            console.print(Text(f"  {line}"))


def blocks(dates: Sequence[date], width: int) -> list[Sequence[date]]:
    """The days in as few blocks as the width allows, of about equal length."""
    fit = max(1, (width - LABEL_WIDTH) // DAY_WIDTH)
    count = -(-len(dates) // fit)
    size = -(-len(dates) // count)
    return [dates[start : start + size] for start in range(0, len(dates), size)]


def bound_sentence(plan: Plan, only_near: int | None = None) -> str:
    """How good the week is shown to be, in money."""
    if plan.status == "optimal":
        proven = "Proven best to the cent"
        return f"{proven}." if only_near is None else f"{proven}{_near(only_near)}."
    if plan.gap_cents is None:
        return "How much better a week could be has not been proven."
    gap = money_text(plan.gap_cents, plan.currency)
    near = "" if only_near is None else _near(only_near)
    return f"No week that keeps your rules can earn more than {gap} above this one{near}."


def _near(changes: int) -> str:
    return f" among weeks that change at most {changes} of the earlier plan's cooks"


def _board(plan: Plan, cafe: Cafe, dates: Sequence[date], marks: dict[str, str]) -> Table:
    table = Table(box=box.ASCII2, show_lines=False, padding=(0, 1), expand=True)
    table.add_column("", width=LABEL_WIDTH - 3, overflow="fold")
    for day in dates:
        table.add_column(short_day(day), ratio=1, overflow="fold")
    for course in cafe.courses:
        cells = [_dishes(plan, cafe, day, course, marks) for day in dates]
        for n, row in enumerate(zip_longest(*cells, fillvalue=Text(""))):
            table.add_row(course.replace("_", " ") if n == 0 else "", *row)
        table.add_section()
    for label, values in _day_lines(plan, cafe, dates):
        table.add_row(label, *values)
    return table


def _dishes(plan: Plan, cafe: Cafe, day: date, course: str, marks: dict[str, str]) -> list[Text]:
    """`8 x Roast squash [O]` for each dish of the course on that day, from the left."""
    cells = []
    for row in in_order(cafe, plan.shown):
        if (row.date, row.course) != (day, course):
            continue
        cell = Text(f"{row.portions} x {cafe.name_of(row.dish)}")
        shown = nutrition.colours(cafe, row.dish)
        if shown:
            cell.append(" [")
            for colour in shown:
                cell.append(marks[colour], style=STYLES.get(colour, "reverse"))
            cell.append("]")
        cells.append(cell)
    return cells


def _day_lines(plan: Plan, cafe: Cafe, shown: Sequence[date]) -> list[tuple[str, list[str]]]:
    found = [day for day in days(plan, cafe) if day.date in shown]
    lines = [
        ("covers", [number_text(day.covers) for day in found]),
        ("takings", [money_text(day.takings_cents, plan.currency) for day in found]),
        ("hands-on minutes", [number_text(day.hands_on_min) for day in found]),
    ]
    if any(cafe.plate.values()):
        lines.append(("protein g average", [_grams(day.protein_average_g) for day in found]))
        lines.append(("protein g worst plate", [_grams(day.protein_worst_g) for day in found]))
    return [*lines, ("colours", [str(day.colours) for day in found])]


def _grams(grams: float | None) -> str:
    return "-" if grams is None else number_text(grams)


def _money(plan: Plan) -> Table:
    """The money terms, which add up to the margin."""
    table = Table(box=box.ASCII2, title="Money of the week", title_justify="left")
    table.add_column("")
    table.add_column(plan.currency, justify="right")
    for term in TERMS:
        table.add_row(TERM_NAMES[term], money_text(plan.terms_cents[term], plan.currency))
    table.add_section()
    table.add_row("Margin of the week", money_text(plan.objective_cents, plan.currency))
    return table
