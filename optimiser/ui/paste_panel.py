"""A pasted recipe: its lines read, looked at one by one, and added to the dish."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from html import escape

import streamlit as st

from optimiser.cafe import Cafe, Form
from optimiser.dish_draft import new_id, new_ingredient, with_draft, with_lines_added
from optimiser.document import faults_of
from optimiser.name_match import called
from optimiser.recipe_text import (
    CHECK,
    HEADING,
    MOST_LINES,
    OPEN,
    READ,
    STATE_WORDS,
    PastedRow,
    lines_left_out,
    open_points,
    read_recipe,
    recipe_cells,
    state_of,
)
from optimiser.ui.desk import show_faults
from optimiser.ui.edits import Edit, begin
from optimiser.ui.plain import plain_markdown
from optimiser.units import UNITS

EXAMPLE = "2 x 400 g tins chickpeas, drained\n1 1/2 cups quinoa\n½ bunch parsley, chopped\nsalt"


@dataclass
class Pasted:
    """The lines of one paste; `confirmed` and `left_out`: their numbers."""

    rows: list[PastedRow] = field(default_factory=list)
    confirmed: set[int] = field(default_factory=set)
    left_out: set[int] = field(default_factory=set)
    at: int = 0

    def state(self, cafe: Cafe, number: int) -> str:
        """The state of a row; what is left out counts as a heading does."""
        if number in self.left_out:
            return HEADING
        return state_of(cafe, self.rows[number], number in self.confirmed)

    def go_on(self, cafe: Cafe) -> None:
        """To the next row that somebody has to look at, if there is one."""
        todo = [n for n in range(len(self.rows)) if self.state(cafe, n) in (CHECK, OPEN)]
        self.at = next((n for n in todo if n > self.at), todo[0] if todo else self.at)


def paste_panel(edit: Edit) -> None:
    """Paste, look, add. Nothing reaches the recipe before every line is settled."""
    key = f"paste_{edit.draft.ident}"
    cafe = edit.cafe
    text = st.text_area("Lines of a recipe", key=f"{key}_text", placeholder=EXAMPLE, height=150)
    if st.button("Read the lines", key=f"{key}_read", disabled=not text.strip()):
        fresh = Pasted(read_recipe(cafe, text), at=-1)
        fresh.go_on(cafe)
        st.session_state[key] = fresh
    pasted: Pasted | None = st.session_state.get(key)
    if pasted is None or not pasted.rows:
        st.caption("Each line becomes a row. What is not sure is asked, never guessed.")
        return
    if lines_left_out(text):
        st.warning(f"Only the first {MOST_LINES} lines are read; {lines_left_out(text)} are not.")
    _look_at(edit, cafe, pasted, key)
    _overview(cafe, pasted)
    _add(edit, cafe, pasted, key)


def _overview(cafe: Cafe, pasted: Pasted) -> None:
    """Every line beside what was read of it."""
    names = called(cafe)
    body = ""
    for number, row in enumerate(pasted.rows):
        state = pasted.state(cafe, number)
        amount = "" if row.qty is None else f"{row.qty:.6g} {row.unit}"
        reads = " ".join(part for part in (amount, names.get(row.item, "")) if part)
        note = f"<br><small>{escape(row.note)}</small>" if row.note else ""
        body += (
            f'<tr><td class="state-{state}">{escape(STATE_WORDS[state])}</td>'
            f"<td>{escape(row.line)}</td><td>{escape(reads)}{note}</td></tr>"
        )
    st.html(
        '<table class="facts"><thead><tr><th scope="col">State</th><th scope="col">As pasted</th>'
        f'<th scope="col">Read as</th></tr></thead><tbody>{body}</tbody></table>'
    )


def _look_at(edit: Edit, cafe: Cafe, pasted: Pasted, key: str) -> None:
    """One line to mend or confirm."""
    numbers = [n for n, row in enumerate(pasted.rows) if not row.is_heading]
    if not numbers:
        return
    pasted.at = pasted.at if pasted.at in numbers else numbers[0]
    with st.container(border=True):
        chosen = st.selectbox(
            "Line to look at",
            numbers,
            numbers.index(pasted.at),
            format_func=lambda n: f"{STATE_WORDS[pasted.state(cafe, n)]}: {pasted.rows[n].line}",
        )
        pasted.at = chosen
        row = _mended(cafe, pasted.rows[chosen], f"{key}_{chosen}_{edit.generation}")
        if row != pasted.rows[chosen]:
            pasted.rows[chosen] = row
            st.rerun()  # the list of lines above says how this one stands
        points = open_points(cafe, row)
        for point in points:
            st.error(plain_markdown(f"✗ {point}"))
        if chosen not in pasted.confirmed:
            for doubt in row.doubts:
                st.warning(plain_markdown(f"? {doubt}"))
        _settle(edit, cafe, pasted, key, bool(points))


def _mended(cafe: Cafe, row: PastedRow, key: str) -> PastedRow:
    """The row as it stands in the fields."""
    names = called(cafe)
    near = [match.item for match in row.matches]
    items = list(dict.fromkeys(["", row.item, *near, *names]))
    units = list(dict.fromkeys(["", *UNITS]))
    first, second = st.columns([1, 1])
    qty = first.number_input("Amount", 0.0, None, row.qty, format="%.6g", key=f"{key}_qty")
    unit = second.selectbox(
        "Unit", units, units.index(row.unit), key=f"{key}_unit", format_func=lambda u: u or "–"
    )
    item = st.selectbox(
        "Ingredient or dish",
        items,
        items.index(row.item),
        key=f"{key}_item",
        format_func=lambda one: names.get(one, "not found: choose or make new"),
    )
    note = st.text_input("Note", row.note, key=f"{key}_note")
    return replace(row, qty=qty or None, unit=unit, item=item, note=note.strip())


def _settle(edit: Edit, cafe: Cafe, pasted: Pasted, key: str, is_open: bool) -> None:
    number = pasted.at
    with st.container(horizontal=True):
        st.button(
            "✓ This is right",
            key=f"{key}_right",
            disabled=is_open,
            on_click=_confirm,
            args=(cafe, pasted, number),
        )
        out = number in pasted.left_out
        st.button(
            "Take it in again" if out else "Leave it out",
            key=f"{key}_out",
            on_click=_leave_out,
            args=(cafe, pasted, number),
        )
        with st.popover("New ingredient"):
            _new_ingredient(edit, pasted, key)


def _confirm(cafe: Cafe, pasted: Pasted, number: int) -> None:
    pasted.left_out.discard(number)
    pasted.confirmed.add(number)
    pasted.go_on(cafe)


def _leave_out(cafe: Cafe, pasted: Pasted, number: int) -> None:
    if number in pasted.left_out:
        pasted.left_out.discard(number)
    else:
        pasted.left_out.add(number)
        pasted.go_on(cafe)


def _new_ingredient(edit: Edit, pasted: Pasted, key: str) -> None:
    """An ingredient that comes with the dish; its allergens are unknown."""
    name = st.text_input("Name", key=f"{key}_new_name").strip()
    form = st.selectbox("Bought and kept as", list(Form), index=1, key=f"{key}_new_form")
    piece_g = st.number_input("One piece, g", 0.0, None, None, key=f"{key}_new_piece")
    st.caption("Allergens are unknown until somebody reads the label.")
    if st.button("Make it", key=f"{key}_new_make", disabled=not name):
        taken = {*edit.cafe.ingredients, *edit.cafe.dishes}
        draft = new_ingredient(new_id(name, taken), name, str(form))
        if piece_g:
            draft = replace(draft, facts={**draft.facts, "piece_g": f"{piece_g:.10g}"})
        faults = faults_of(with_draft(edit.desk.document, draft))
        if faults:
            show_faults(faults.faults)
            return
        row = pasted.rows[pasted.at]
        pasted.rows[pasted.at] = replace(row, item=draft.ident)
        begin(edit.desk, replace(edit.draft, extra=(*edit.draft.extra, draft)))
        st.rerun()


def _add(edit: Edit, cafe: Cafe, pasted: Pasted, key: str) -> None:
    states = Counter(pasted.state(cafe, number) for number in range(len(pasted.rows)))
    todo = states[CHECK] + states[OPEN]
    if todo:
        st.caption(f"{states[READ]} ✓ read, {states[CHECK]} ? to check, {states[OPEN]} ✗ missing.")
    taken = [row for number, row in enumerate(pasted.rows) if pasted.state(cafe, number) == READ]
    count = len(taken)
    word = f"Add {count} line{'' if count == 1 else 's'} to the recipe"
    if st.button(word, key=f"{key}_add", type="primary", disabled=bool(todo) or not taken):
        begin(edit.desk, with_lines_added(edit.draft, recipe_cells(taken)))
        del st.session_state[key]
        st.rerun()
