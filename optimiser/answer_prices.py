"""Answers about prices and surplus: breakpoints, exposure, what a unit more is worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from optimiser.answer import (
    Answer,
    Grid,
    bar,
    cents,
    csv_row,
    placed_data,
    placed_rows,
    signed,
    span,
)
from optimiser.exposure import RISE, Exposure
from optimiser.price_lines import Piece, PriceRange
from optimiser.report_base import Row, money_text, number_text
from optimiser.surplus import SurplusWorth

BREAKPOINTS, EXPOSURE, WORTH = "breakpoints", "exposure", "worth"
EXPOSED = 20
"""So many ingredients are listed on the terminal, and not more."""


def breakpoints_answer(found: PriceRange, currency: str) -> Answer:
    """The prices of an ingredient at which the best menu changes."""
    return Answer(
        question=BREAKPOINTS,
        about=found.ingredient,
        title=f"Price of {found.name}",
        lines=tuple(found.sentences(currency))
        + ("Exact among this week's menu and those with one cook changed, same deliveries.",),
        data=_range_data(found),
        rows=tuple(_range_rows(found)),
        grids=(_range_grid(found, currency),) if found.pieces else (),
        complete=found.complete,
    )


def _range_grid(found: PriceRange, currency: str) -> Grid:
    def price(factor: float) -> str:
        return f"{money_text(found.today_cents * factor, currency)}/{found.unit}"

    rows = tuple(
        (
            f"{price(piece.low)} to {price(piece.high)}",
            f"{piece.low:.2f} to {piece.high:.2f}",
            span(piece.low, piece.high, found.low, found.high),
            "another" if piece.enters else "this week's",
            money_text(_most_gain(piece), currency),
        )
        for piece in found.pieces
    )
    columns = ("price", "times today's", "", "menu", "gains up to")
    return Grid("Best menu by price", columns, rows, words=(3,), bars=(2,))


def _most_gain(piece: Piece) -> float:
    """Cents that the best menu gains over the plan's, at the end of the piece where it is more."""
    ends = (
        (piece.best_low_cents, piece.kept_low_cents),
        (piece.best_high_cents, piece.kept_high_cents),
    )
    return max(0.0, *(best - kept for best, kept in ends))


def _range_data(found: PriceRange) -> dict[str, Any]:
    return {
        "ingredient": found.ingredient,
        "name": found.name,
        "unit": found.unit,
        "today_cents": cents(found.today_cents),
        "low": found.low,
        "high": found.high,
        "safe_until": found.safe_until,
        "already_cents": cents(found.already_cents),
        "pieces": [
            {
                "low": piece.low,
                "high": piece.high,
                "enters": placed_data(piece.enters),
                "leaves": placed_data(piece.leaves),
                "best_low_cents": cents(piece.best_low_cents),
                "best_high_cents": cents(piece.best_high_cents),
                "kept_low_cents": cents(piece.kept_low_cents),
                "kept_high_cents": cents(piece.kept_high_cents),
            }
            for piece in found.pieces
        ],
    }


def _range_rows(found: PriceRange) -> list[Row]:
    rows: list[Row] = []
    for piece in found.pieces:
        for end, factor, best, kept in (
            ("from", piece.low, piece.best_low_cents, piece.kept_low_cents),
            ("to", piece.high, piece.best_high_cents, piece.kept_high_cents),
        ):
            for menu, margin in (("best", best), ("kept", kept)):
                rows.append(
                    csv_row(BREAKPOINTS, found.ingredient, f"{end}_{menu}", name=found.name,
                            amount=round(factor, 4), unit="times today's price", cents=margin,
                            note="margin")
                )  # fmt: skip
        for row, cooks in (("enters", piece.enters), ("leaves", piece.leaves)):
            note = f"from {piece.low:.4f} to {piece.high:.4f} times today's price"
            rows += placed_rows(BREAKPOINTS, found.ingredient, row, cooks, note=note)
    return rows


def exposure_answer(found: Sequence[Exposure], currency: str, complete: bool) -> Answer:
    """Ingredients by how much the week depends on their prices."""
    rise = f"{(RISE - 1) * 100:.0f} %"
    lines = [
        f"What {rise} more would cost, with the menu kept and with one cook changed (below "
        "nothing: that change pays anyway); the usual move of a month and what it costs, menu "
        "kept (-: no price history); next: the price, in times today's, at which the menu "
        "changes (-: not looked for)."
    ]
    if len(found) > EXPOSED:
        lines.append(
            f"{len(found) - EXPOSED} smaller ones are left out here; JSON and CSV have all."
        )
    if not found:
        lines.append("Nothing was looked at before it was stopped.")
    return Answer(
        question=EXPOSURE,
        about="",
        title="What this week's menu depends on most",
        lines=tuple(lines),
        data={"rise_pct": (RISE - 1) * 100, "ingredients": [_exposure_data(one) for one in found]},
        rows=tuple(row for one in found for row in _exposure_rows(one)),
        grids=(_exposure_grid(found, rise, currency),) if found else (),
        complete=complete,
    )


def _exposure_grid(found: Sequence[Exposure], rise: str, currency: str) -> Grid:
    most = max(one.loss_kept_cents for one in found)
    rows = tuple(
        (
            one.name,
            money_text(one.spend_cents, currency),
            money_text(one.loss_kept_cents, currency),
            bar(one.loss_kept_cents, most),
            money_text(one.loss_changed_cents, currency),
            _usual_words(one, currency),
            _next_words(one),
        )
        for one in found[:EXPOSED]
    )
    columns = ("ingredient", "spend", f"+{rise} kept", "", "changed", "usual move", "next")
    return Grid("Worst first", columns, rows, bars=(3,))


def _usual_words(one: Exposure, currency: str) -> str:
    if one.usual_move_pct is None or one.loss_usual_cents is None:
        return "-"
    loss = money_text(one.loss_usual_cents, currency)
    return f"{number_text(one.usual_move_pct)} %: {loss}"


def _next_words(one: Exposure) -> str:
    if one.next_break is not None:
        return f"x {one.next_break:.2f}"
    return "-" if one.searched_to is None else f"> x {one.searched_to:g}"


def _exposure_data(one: Exposure) -> dict[str, Any]:
    return {
        "ingredient": one.ingredient,
        "name": one.name,
        "spend_cents": one.spend_cents,
        "usual_move_pct": cents(one.usual_move_pct),
        "loss_usual_cents": cents(one.loss_usual_cents),
        "loss_kept_cents": cents(one.loss_kept_cents),
        "loss_changed_cents": cents(one.loss_changed_cents),
        "next_break": one.next_break,
        "searched_to": one.searched_to,
    }


def _exposure_rows(one: Exposure) -> list[Row]:
    def row(name: str, money: float | None, note: str) -> Row:
        return csv_row(
            EXPOSURE, one.ingredient, name, id=one.ingredient, name=one.name, cents=money, note=note
        )

    rows = [
        row("spend", one.spend_cents, "this week"),
        row("loss_kept", one.loss_kept_cents, f"at {RISE:g} times today's price, menu kept"),
        row("loss_changed", one.loss_changed_cents, f"at {RISE:g} times, one cook changed"),
    ]
    if one.usual_move_pct is not None:
        usual = row("loss_usual", one.loss_usual_cents, "at the usual move of a month, menu kept")
        rows.append(usual | {"amount": round(one.usual_move_pct, 2), "unit": "%"})
    if one.next_break is not None:
        rows.append(
            csv_row(EXPOSURE, one.ingredient, "next_break", id=one.ingredient, name=one.name,
                    amount=round(one.next_break, 4), unit="times today's price")
        )  # fmt: skip
    return rows


def worth_answer(found: SurplusWorth, unit: str, units: int, currency: str) -> Answer:
    """What a surplus is worth, unit by unit. `unit`: what one is called; `units`: asked for."""
    known = len(found.kept_cents) > 1
    line = "Nothing was worked out before it was stopped."
    if known:
        line = (
            f"All {len(found.kept_cents) - 1}: {money_text(found.kept_cents[-1], currency)} with "
            f"the menu kept, {money_text(found.changed_cents[-1], currency)} with one cook changed"
            f" (of which {money_text(found.changed_cents[0], currency)} without any of it)."
        )
    return Answer(
        question=WORTH,
        about=found.item,
        title=f"What more {found.name} is worth",
        lines=(line, "Exact with the menu kept and with one cook changed, same deliveries."),
        data={
            "item": found.item,
            "name": found.name,
            "grams_each": found.grams_each,
            "unit": unit,
            "kept_cents": [cents(one) for one in found.kept_cents],
            "changed_cents": [cents(one) for one in found.changed_cents],
        },
        rows=tuple(_worth_rows(found, unit)),
        grids=(_worth_grid(found, unit, currency),) if known else (),
        complete=len(found.kept_cents) == units + 1,
    )


def _worth_grid(found: SurplusWorth, unit: str, currency: str) -> Grid:
    kept, changed = found.next_unit(changed=False), found.next_unit(changed=True)
    most = max(kept)
    rows = tuple(
        (str(number), signed(one, currency), bar(one, most), signed(other, currency))
        for number, (one, other) in enumerate(zip(kept, changed, strict=True), 1)
    )
    columns = (f"next {unit}", "menu kept", "", "one cook changed")
    return Grid("Each brings", columns, rows, bars=(2,))


def _worth_rows(found: SurplusWorth, unit: str) -> list[Row]:
    return [
        csv_row(WORTH, found.item, row, id=found.item, name=found.name, amount=number,
                unit=f"x {unit}", cents=total, note="worth of all so far")
        for row, totals in (("kept", found.kept_cents), ("one_changed", found.changed_cents))
        for number, total in enumerate(totals)
    ]  # fmt: skip
