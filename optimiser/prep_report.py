"""The prep sheet: day by day what to cook, cut, weigh and do at each station."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from optimiser.cafe import Cafe, Dish, Step
from optimiser.plan import Cook, Plan
from optimiser.report_base import (
    Cell,
    Row,
    cook_use_by,
    day_text,
    listed,
    lot_lives,
    number_text,
    weekday,
)

PREP_COLUMNS = (
    "date",
    "weekday",
    "task",
    "station",
    "dish",
    "name",
    "portions",
    "cook_on",
    "hands_on_min",
    "step",
    "text",
    "minutes_as_written",
    "text_for_portions",
    "item",
    "item_name",
    "units",
    "qty",
    "unit",
    "edible_g",
    "purchased_g",
    "lot",
    "lot_use_by",
    "then_use_by",
)
COOK, OPEN, WEIGH, STEP = "cook", "open", "weigh", "step"
"""The tasks of a day, in this order."""

STATIONS = ("hands_on", "processor", "oven", "hob")
"""Stations in the order in which food usually passes them; others follow by name."""


def prep_rows(plan: Plan, cafe: Cafe) -> list[Row]:
    """Every task of the week by date: cooks, pieces to cut, lines to weigh, steps.

    Amounts are scaled to the portions of the cook; a step's words and minutes are
    those of the recipe as written, for `text_for_portions`. `then_use_by` is the last
    day of an opened piece or of what is cooked. A step to be done ahead stands on its
    own day, or on the last open day before it.
    """
    cooks = sorted(plan.cooks, key=lambda cook: (cook.date, _parts_first(cafe, cook)))
    rows = [_cook_row(plan, cafe, cook) for cook in cooks]
    rows += _open_rows(plan, cafe)
    rows += _weigh_rows(plan, cafe, cooks)
    rows += _step_rows(cafe, cooks)
    order = {task: n for n, task in enumerate((COOK, OPEN, WEIGH, STEP))}
    return sorted(rows, key=lambda row: (str(row["date"]), order[str(row["task"])]))


def hands_on_min(dish: Dish, portions: int) -> float:
    """Minutes of hands that one cook takes."""
    return dish.hands_on_min + dish.hands_on_min_per_10 * portions / 10


def _row(day: date, task: str, **cells: Cell) -> Row:
    row: Row = dict.fromkeys(PREP_COLUMNS)
    return row | {"date": day, "weekday": weekday(day), "task": task} | cells


def _parts_first(cafe: Cafe, cook: Cook) -> tuple[int, str]:
    """Sort key: components before the dishes they go into."""
    return (_depth(cafe, cook.dish), cook.dish)


def _depth(cafe: Cafe, dish_id: str) -> int:
    parts = [line.item for line in cafe.dishes[dish_id].lines if line.item in cafe.dishes]
    return max((1 + _depth(cafe, part) for part in parts), default=0)


def _cook_row(plan: Plan, cafe: Cafe, cook: Cook) -> Row:
    dish = cafe.dishes[cook.dish]
    shown = ", ".join(day_text(day) for day in cook.shown)
    return _row(
        cook.date,
        COOK,
        dish=dish.id,
        name=dish.name,
        portions=cook.portions,
        cook_on=cook.date,
        hands_on_min=round(hands_on_min(dish, cook.portions), 1),
        text=f"For {shown}" if shown else "For other dishes",
        then_use_by=cook_use_by(plan, cafe, lot_lives(plan, cafe), dish.id, cook.date),
    )


def _open_rows(plan: Plan, cafe: Cafe) -> Iterator[Row]:
    lives = lot_lives(plan, cafe)
    for cut in sorted(plan.opens, key=lambda cut: (cut.date, cut.ingredient, cut.lot)):
        ingredient = cafe.ingredients[cut.ingredient]
        yield _row(
            cut.date,
            OPEN,
            text="Cut or open",
            item=ingredient.id,
            item_name=ingredient.name,
            units=cut.units,
            purchased_g=round(cut.units * (ingredient.piece_g or 0.0), 1),
            lot=cut.lot,
            lot_use_by=None if lives[cut.lot] == date.max else lives[cut.lot],
            then_use_by=lives[f"opened-{cut.date}-{cut.lot}"],
        )


def _weigh_rows(plan: Plan, cafe: Cafe, cooks: list[Cook]) -> Iterator[Row]:
    """The recipe lines of each cook; the first line of an item names all its lots."""
    lots: dict[tuple[date, str, str], list[str]] = {}
    for use in plan.uses:
        words = f"{use.lot} {number_text(use.grams)} g"
        lots.setdefault((use.date, use.dish, use.item), []).append(words)
    for cook in cooks:
        dish = cafe.dishes[cook.dish]
        factors = stretch_factors(plan, cafe, cook)
        for line in dish.lines:
            cooked = line.item in cafe.dishes
            stretch = factors.get(line.item, 1.0) if line.flexible else 1.0
            scale = cook.portions / dish.portions * stretch
            yield _row(
                cook.date,
                WEIGH,
                dish=dish.id,
                name=dish.name,
                portions=cook.portions,
                cook_on=cook.date,
                text=listed([line.note] * bool(line.note) + _stretch_words(stretch)),
                item=line.item,
                item_name=cafe.name_of(line.item),
                qty=round(line.qty * scale, 3),
                unit=line.unit,
                edible_g=round(line.edible_g * scale, 1),
                purchased_g=None if cooked else round(line.purchased_g * scale, 1),
                lot=listed(lots.pop((cook.date, dish.id, line.item), [])),
            )


def stretch_factors(plan: Plan, cafe: Cafe, cook: Cook) -> dict[str, float]:
    """Item -> by what its flexible lines in a cook are multiplied, where the plan says so."""
    dish = cafe.dishes[cook.dish]
    factors = {}
    for row in plan.stretched:
        if (row.dish, row.date) == (cook.dish, cook.date):
            lines = [line for line in dish.lines if line.flexible and line.item == row.item]
            part = row.item in cafe.dishes
            written_g = sum(line.edible_g if part else line.purchased_g for line in lines)
            factors[row.item] = 1 + row.more_g / (written_g * cook.portions / dish.portions)
    return factors


def _stretch_words(stretch: float) -> list[str]:
    """Says that the amount is not the recipe's, from a tenth of a percent on."""
    change_pct = 100 * (stretch - 1)
    return [f"recipe {change_pct:+.1f} %"] if abs(change_pct) >= 0.1 else []


def _step_rows(cafe: Cafe, cooks: list[Cook]) -> list[Row]:
    """Steps by day and station; at a station what is for today, then what is ahead."""
    found = []
    for cook in cooks:
        dish = cafe.dishes[cook.dish]
        for step in dish.steps:
            day = working_day(cafe, cook.date - timedelta(days=step.ahead_days))
            key = (day, _station(step), cook.date, *_parts_first(cafe, cook), step.number)
            found.append((key, _step_row(day, cook, dish, step)))
    return [row for _, row in sorted(found, key=lambda pair: pair[0])]


def working_day(cafe: Cafe, day: date) -> date:
    """`day`, or the last open day before it: nobody works while the cafe is closed."""
    while day.weekday() not in cafe.open_days:
        day -= timedelta(days=1)
    return day


def _station(step: Step) -> tuple[int, str]:
    known = step.station in STATIONS
    return (STATIONS.index(step.station) if known else len(STATIONS), step.station)


def _step_row(day: date, cook: Cook, dish: Dish, step: Step) -> Row:
    return _row(
        day,
        STEP,
        station=step.station,
        dish=dish.id,
        name=dish.name,
        portions=cook.portions,
        cook_on=cook.date,
        step=step.number,
        text=step.text,
        minutes_as_written=step.minutes,
        text_for_portions=dish.portions,
    )
