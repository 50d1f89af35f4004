"""Dishes and ingredients: find one, edit it, see at once what follows."""

from __future__ import annotations

import streamlit as st

from optimiser.cafe import COMPONENT, Form
from optimiser.dish_draft import (
    DISH_FILE,
    INGREDIENT_FILE,
    copied,
    new_dish,
    new_id,
    new_ingredient,
    why_it_stays,
    without,
)
from optimiser.dish_search import (
    ANY,
    allergen_choices,
    colours_used,
    dishes_found,
    ingredients_found,
)
from optimiser.ui.desk import Desk, desk, save, undo_bar
from optimiser.ui.dish_editor import dish_editor
from optimiser.ui.dish_panel import STYLE_FILE
from optimiser.ui.edits import Edit, begin, drop, edit_of, unsaved
from optimiser.ui.ingredient_editor import ingredient_editor
from optimiser.ui.look import empty
from optimiser.ui.plain import plain_markdown

DISHES, INGREDIENTS = "Dishes", "Ingredients"
FILES = {DISHES: DISH_FILE, INGREDIENTS: INGREDIENT_FILE}
WORDS = {DISH_FILE: "dish", INGREDIENT_FILE: "ingredient"}


def page() -> None:
    """Show the page."""
    here = desk()
    st.html(STYLE_FILE)
    st.title("Dishes")
    shown = st.segmented_control(
        "Show", list(FILES), default=DISHES, key="dishes_mode", label_visibility="collapsed"
    )
    file = FILES[shown or DISHES]
    ident = _pick(here, file)
    edit = edit_of(here, file, ident) if ident else None
    _actions(here, file, edit)
    if edit is None:
        empty("Nothing of this kind", "Change what you search for, or make a new one.")
    elif file == DISH_FILE:
        dish_editor(edit)
    else:
        ingredient_editor(edit)
    undo_bar(here)


def _pick(here: Desk, file: str) -> str | None:
    """Search and choose; what is new and unsaved can be chosen too."""
    cafe = here.cafe
    first, second, third = st.columns([3, 2, 5], vertical_alignment="bottom")
    text = first.text_input("Search", key=f"search_{file}", placeholder="a name or an ingredient")
    with second.popover("Filter", width="stretch"):
        allergen = st.selectbox("Allergen", allergen_choices(cafe), key=f"allergen_{file}")
        if file == DISH_FILE:
            courses = [ANY, *cafe.courses, COMPONENT]
            course = st.selectbox("Course", courses, key="course_filter")
            colour = st.selectbox("Colour", [ANY, *colours_used(cafe)], key="colour_filter")
    if file == DISH_FILE:
        found = {one.id: one.name for one in dishes_found(cafe, text, course, colour, allergen)}
        total = len(cafe.dishes)
    else:
        found = {one.id: one.name for one in ingredients_found(cafe, text, allergen)}
        total = len(cafe.ingredients)
    waiting = unsaved(here, file)
    names = {ident: name for ident, name in waiting.items() if ident not in found} | found
    if not names:
        return None
    key = f"pick_{file}"
    if (wanted := st.session_state.pop(f"choose_{file}", None)) in names:
        st.session_state[key] = wanted
    if st.session_state.get(key) not in names:
        last = st.session_state.get(f"chosen_{file}")
        st.session_state[key] = last if last in names else next(iter(names))
    chosen: str = third.selectbox(
        f"{WORDS[file].capitalize()} ({len(found)} of {total})",
        list(names),
        key=key,
        format_func=lambda ident: names[ident] + (" ✎ not saved" if ident in waiting else ""),
    )
    st.session_state[f"chosen_{file}"] = chosen  # outlives the page, as the widget does not
    return chosen


def _choose(file: str, ident: str) -> None:
    """Show this thing in the next run."""
    st.session_state[f"choose_{file}"] = ident
    st.rerun()


def _actions(here: Desk, file: str, edit: Edit | None) -> None:
    """New, copy, take out."""
    with st.container(horizontal=True, key=f"actions_{file}"):
        with st.popover(f"New {WORDS[file]}"):
            _new(here, file)
        if edit is None:
            return
        with st.popover("Copy"):
            _copy(here, edit)
        out = st.button("Take out", key=f"take_out_{file}")
    if out:
        _take_out(here, edit)


def _new(here: Desk, file: str) -> None:
    name = st.text_input("Name", key=f"new_name_{file}").strip()
    if file == DISH_FILE:
        course = st.selectbox("Course", [*here.cafe.courses, COMPONENT], key="new_course")
        portions = st.number_input("Recipe makes, portions", 1, 10_000, 10, key="new_portions")
    else:
        form = st.selectbox("Bought and kept as", list(Form), index=1, key="new_form")
        st.caption("Allergens are unknown until somebody reads the label.")
    if st.button("Begin", key=f"new_begin_{file}", disabled=not name, type="primary"):
        ident = new_id(name, _taken(here))
        if file == DISH_FILE:
            begin(here, new_dish(ident, name, course, int(portions)))
        else:
            begin(here, new_ingredient(ident, name, str(form)))
        _choose(file, ident)


def _copy(here: Desk, edit: Edit) -> None:
    called = edit.draft.facts.get("name", edit.draft.ident)
    name = st.text_input(
        "Name of the copy", f"{called}, copy", key=f"copy_name_{edit.generation}"
    ).strip()
    if st.button("Copy", key=f"copy_begin_{edit.draft.file}", disabled=not name, type="primary"):
        ident = new_id(name, _taken(here))
        begin(here, copied(edit.draft, ident, name))
        _choose(edit.draft.file, ident)


def _taken(here: Desk) -> set[str]:
    """Ids that are in use, those of unsaved things too."""
    cafe = here.cafe
    waiting = {*unsaved(here, DISH_FILE), *unsaved(here, INGREDIENT_FILE)}
    return {*cafe.dishes, *cafe.ingredients, *waiting}


def _take_out(here: Desk, edit: Edit) -> None:
    """Take it out of the tables, or say who still needs it."""
    draft = edit.draft
    name = draft.facts.get("name", draft.ident)
    if draft.ident not in {*here.cafe.dishes, *here.cafe.ingredients}:  # never saved
        drop(draft.file, draft.ident)
        st.rerun()
    reasons = why_it_stays(here.document, here.cafe, here.reading.rules, draft)
    if reasons:
        said = "\n".join(f"- {plain_markdown(one)}" for one in reasons)
        st.error(f"{plain_markdown(name)} cannot be taken out:\n\n{said}")
        if draft.file == DISH_FILE:
            st.caption("To keep it out of the cabinet, bar it under Rules.")
    elif save(without(here.document, draft.file, draft.ident), f"Took out {name}", here):
        drop(draft.file, draft.ident)
        st.rerun()
