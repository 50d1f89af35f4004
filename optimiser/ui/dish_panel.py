"""What follows from a dish as it is typed: cost, colours, allergens, diets, label."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from html import escape
from pathlib import Path

import streamlit as st

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.dish_facts import (
    CONTAINS,
    MAY_CONTAIN,
    DishCost,
    allergen_rows,
    cost_words,
    diet_rows,
    dish_cost,
    label_lines,
    nutrient_rows,
)
from optimiser.report_base import Cell, day_text, money_text
from optimiser.ui.edits import Edit
from optimiser.ui.fact_table import facts_table
from optimiser.ui.look import chips
from optimiser.ui.plain import plain_markdown

STYLE_FILE = Path(__file__).with_name("dishes.css")
SIGNS = {CONTAINS: "●", MAY_CONTAIN: "◐"}
UNKNOWN_SIGN = "?"
ANSWER_SIGNS = {"yes": "✓", "no": "●", "unknown": UNKNOWN_SIGN}


def buying_day(edit: Edit) -> date:
    """The day whose prices count: that of planning."""
    try:
        return edit.desk.week.planned_on
    except ValueError:  # no week to plan: closed throughout
        return date.today()


def dish_strip(edit: Edit) -> None:
    """The dish in one line: name, course, colours, cost, protein, allergens."""
    facts, reading = edit.draft.facts, edit.checked.reading
    name = escape(facts.get("name") or edit.draft.ident)
    mark = " <em>not saved yet</em>" if edit.is_dirty else ""
    if reading is None:
        st.html(
            f'<div class="dish-strip"><h2>{name}{mark}</h2>'
            "<p>What follows from it is shown again when the faults are mended.</p></div>"
        )
        return
    cafe, ident = reading.cafe, edit.draft.ident
    cost = dish_cost(cafe, ident, buying_day(edit))
    protein = nutrient_rows(cafe, ident)[0]["portion"]
    said = [escape(_cost_line(cost, cafe)), f"{escape(str(protein))} protein"]
    st.html(
        f'<div class="dish-strip"><h2>{name} {chips(nutrition.colours(cafe, ident))}{mark}</h2>'
        f"<p>{escape(cafe.dishes[ident].course)} · {' · '.join(said)}</p>"
        f"<p>{_allergen_line(cafe, ident)}</p></div>"
    )


def _cost_line(cost: DishCost, cafe: Cafe) -> str:
    words = cost_words(cost, cafe.currency)
    if cost.price_cents and cost.food_cost_pct is not None:
        price = money_text(cost.price_cents, cafe.currency)
        words += f", {cost.food_cost_pct:.0f} % of {price}"
    return words


def _allergen_line(cafe: Cafe, ident: str) -> str:
    """Badges: state in a sign and in words, never by colour alone."""
    rows = allergen_rows(cafe, ident)
    if not rows:
        return escape("no allergen named on the labels, all read")
    return " ".join(
        f'<span class="badge badge-{_class(row)}">{escape(_badge_words(row))}</span>'
        for row in rows
    )


def _badge_words(row: Mapping[str, Cell]) -> str:
    """`● contains soy`; what is unknown names the labels that nobody has read."""
    state, allergen = str(row["state"]), str(row["allergen"])
    if state in SIGNS:
        return f"{SIGNS[state]} {state} {allergen}"
    return f"{UNKNOWN_SIGN} {allergen} {state}: {row['from']}"


def _class(row: Mapping[str, Cell]) -> str:
    return {CONTAINS: "is", MAY_CONTAIN: "may"}.get(str(row["state"]), "unknown")


def dish_panel(edit: Edit) -> None:
    """The tables behind the line, and the label as it will print."""
    reading = edit.checked.reading
    if reading is None:
        return  # the line above says why there is nothing
    cafe, ident, day = reading.cafe, edit.draft.ident, buying_day(edit)
    cost = dish_cost(cafe, ident, day)
    st.subheader("Cost of a portion", help=f"Cheapest offers on {day_text(day)}")
    _cost_table(cost, cafe)
    st.subheader("In a portion")
    facts_table(
        nutrient_rows(cafe, ident), {"what": "Of what", "portion": "Portion", "unknown": "Unknown"}
    )
    st.subheader("Allergens and diets")
    _allergens(cafe, ident)
    with st.expander("The label as it will print"):
        facts_table(label_lines(cafe, ident), {"line": "Line", "says": "Label"})
        st.caption("The days of cooking and of use are added when it is cooked.")


def _cost_table(cost: DishCost, cafe: Cafe) -> None:
    rows = [
        {
            "item": row["item"],
            "grams": f"{row['grams']} g",
            "cents": "no price"
            if row["cents"] is None
            else money_text(float(str(row["cents"])), cafe.currency),
        }
        for row in cost.lines
    ]
    total = money_text(cost.portion_cents, cafe.currency)
    rows.append(
        {"item": "Together", "grams": "", "cents": f"at least {total}" if cost.unpriced else total}
    )
    facts_table(rows, {"item": "Line", "grams": "As bought", "cents": "Cost"})
    if cost.unpriced:
        unpriced = ", ".join(cost.unpriced)
        st.warning(plain_markdown(f"Nobody sells {unpriced}: the cost is at least this."))


def _allergens(cafe: Cafe, ident: str) -> None:
    rows = [
        {**row, "state": f"{SIGNS.get(str(row['state']), UNKNOWN_SIGN)} {row['state']}"}
        for row in allergen_rows(cafe, ident)
    ]
    if rows:
        facts_table(rows, {"state": "State", "allergen": "Allergen", "from": "From"})
    else:
        st.write("All labels were read; none names an allergen.")
    diets = [
        {"diet": row["diet"], "says": f"{ANSWER_SIGNS[str(row['answer'])]} {row['says']}"}
        for row in diet_rows(cafe, ident)
    ]
    facts_table(diets, {"diet": "Diet", "says": "Label says"})
