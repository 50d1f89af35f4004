"""What a plan does with the larder: each lot's story, what it opens, what it leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from optimiser import formats
from optimiser.cafe import Cafe, State
from optimiser.plan import Plan, Use
from optimiser.report_base import CRUMB_G, lot_lives, number_text, weekday
from optimiser.stock_report import Fate, stock_fates
from optimiser.week import last_day


@dataclass(frozen=True)
class Story:
    """What a plan does with one lot. `uses`: a dish on a day and how much of the lot."""

    uses: tuple[str, ...]
    ending: str
    binned: bool = False


def weight(grams: float) -> str:
    """Grams as a kitchen says them: `250 g`, `1.25 kg`."""
    if grams < 1000:
        return f"{number_text(grams) if grams < 10 else formats.number(grams, places=0)} g"
    return f"{formats.number(grams / 1000, places=2)} kg"


def stories(plan: Plan, cafe: Cafe) -> dict[str, Story]:
    """The story of every lot by its id; `cafe` as it was when the plan was made."""
    return {fate.lot.id: _story(fate, cafe) for fate in stock_fates(plan, cafe)}


def _story(fate: Fate, cafe: Cafe) -> Story:
    ending = _ending(bool(fate.uses), fate.left_g, fate.binned_g)
    return Story(_uses(fate.uses, cafe), ending, fate.binned_g >= CRUMB_G)


def _ending(used: bool, left_g: float, binned_g: float) -> str:
    """What becomes of the rest, in words."""
    rest = []
    if left_g >= CRUMB_G:
        rest.append(f"{weight(left_g)} left after the week")
    if binned_g >= CRUMB_G:
        rest.append(f"{weight(binned_g)} binned")
    if rest:
        return ("" if used else "not cooked: ") + ", ".join(rest)
    return "finished" if used else "not in this plan"


def _uses(uses: Sequence[Use], cafe: Cafe) -> tuple[str, ...]:
    ordered = sorted(uses, key=lambda use: (use.date, use.dish))
    return tuple(
        f"{weekday(use.date)} {cafe.name_of(use.dish)} {weight(use.grams)}" for use in ordered
    )


@dataclass(frozen=True)
class Opening:
    """Pieces that the plan opens or cuts on `day`, and what becomes of them."""

    day: date
    name: str
    units: int
    use_by: date
    story: Story


def openings(plan: Plan, cafe: Cafe) -> list[Opening]:
    """All that the plan opens, by day."""
    lives = lot_lives(plan, cafe)
    found = []
    for cut in sorted(plan.opens, key=lambda cut: (cut.date, cafe.name_of(cut.ingredient))):
        lot = f"opened-{cut.date}-{cut.lot}"
        uses = tuple(use for use in plan.uses if use.lot == lot)
        left_g = sum(row.grams for row in plan.left if row.lot == lot)
        binned_g = sum(row.grams for row in plan.binned if row.lot == lot)
        ending = _ending(bool(uses), left_g, binned_g)
        story = Story(_uses(uses, cafe), ending, binned_g >= CRUMB_G)
        found.append(Opening(cut.date, cafe.name_of(cut.ingredient), cut.units, lives[lot], story))
    return found


@dataclass(frozen=True)
class Leftover:
    """What is still good on the first open day after the week."""

    name: str
    grams: float
    use_by: date | None
    value_cents: int
    opened: bool


def leftovers(plan: Plan, cafe: Cafe) -> list[Leftover]:
    """What the plan leaves, the shortest-lived first."""
    opened = {lot.id for lot in cafe.stock if lot.state is not State.WHOLE}
    found = [
        Leftover(
            name=cafe.name_of(row.item),
            grams=row.grams,
            use_by=row.use_by,
            value_cents=row.value_cents,
            opened=row.lot in opened or row.lot.startswith(("opened-", "cooked-")),
        )
        for row in plan.left
        if row.grams >= CRUMB_G
    ]
    return sorted(found, key=lambda one: (last_day(one.use_by), one.name))
