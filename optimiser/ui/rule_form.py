"""The form of one rule, drawn from its class. Every change is taken at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import streamlit as st

from optimiser.rule_fields import FormField, form_fields, rule_of
from optimiser.rules import Rule
from optimiser.week import Week

HARD, PRICED = "Must hold", "May be broken, at a price"

FIRST_PRICE_CENTS = 100
"""What a unit of breach costs until somebody says otherwise."""

BLANK = ""
"""A blank among choices: for Streamlit None is no choice at all."""

Take = Callable[[dict[str, Any]], None]


def rule_form(
    key: str, kind: type[Rule], values: Mapping[str, Any], week: Week, take: Take
) -> tuple[Rule | None, list[str]]:
    """Draw the form; the rule it says now, and its faults. `values`: what it says at first;
    `take` gets all its values after a change, before the page is drawn again."""
    fields = form_fields(kind, week, values)

    def changed() -> None:
        take(_values(key, fields))

    for one in fields:
        _seed(_key(key, one.name), _shown(one, values.get(one.name, one.default)))
        _widget(_key(key, one.name), one, week.cafe.currency, changed)
    _price(key, kind, values.get("price_cents"), week.cafe.currency, changed)
    return rule_of(kind, _values(key, fields), fields, week.cafe)


def values_of(rule: Rule) -> dict[str, Any]:
    """A rule's parameters, as its form has them."""
    return {name: getattr(rule, name) for name in type(rule).model_fields if name != "kind"}


def _key(key: str, name: str) -> str:
    return f"{key}_{name}"


def _seed(key: str, value: Any) -> None:
    """What a widget says when it first appears."""
    if key not in st.session_state:
        st.session_state[key] = value


def _values(key: str, fields: tuple[FormField, ...]) -> dict[str, Any]:
    """What the widgets say, in the units of the class."""
    found = {one.name: _kept(one, st.session_state[_key(key, one.name)]) for one in fields}
    priced = st.session_state.get(_key(key, "hardness")) == PRICED
    # The price is asked for only after this has been chosen.
    price = st.session_state.get(_key(key, "price_cents"), FIRST_PRICE_CENTS / 100)
    found["price_cents"] = _cents(price) if priced else None
    return found


def _shown(one: FormField, value: Any) -> Any:
    """A value as its widget has it: money in whole units, lists as lists."""
    if value is None:
        if one.shape == "several":
            return []
        return BLANK if one.shape == "one_of" and one.optional else None
    match one.shape:
        case "money":
            return value / 100
        case "number":
            return float(value)
        case "several":
            return [entry for entry in one.options if entry in value]
    return value


def _kept(one: FormField, shown: Any) -> Any:
    """The value that a widget shows, as the class has it."""
    if shown is None or shown == BLANK:
        return None
    match one.shape:
        case "money":
            return round(shown * 100)
        case "several":
            return tuple(entry for entry in one.options if entry in shown)
    return shown


def _cents(price: float) -> float:
    """Cents, without what a tenth of a cent is off in binary."""
    return float(f"{price * 100:.10g}")


def _widget(key: str, one: FormField, currency: str, changed: Callable[[], None]) -> None:
    """The input of one field."""
    said: dict[str, Any] = {"key": key, "help": one.help, "on_change": changed}
    words = {BLANK if value is None else value: text for value, text in one.options.items()}
    match one.shape:
        case "yes_no":
            st.checkbox(one.label, **said)
        case "one_of":
            said |= {"format_func": words.__getitem__, "placeholder": "choose"}
            st.selectbox(one.label, list(words), index=None, **said)
        case "several":
            said |= {"format_func": words.__getitem__}
            said |= {"placeholder": "all" if one.default == () else "choose"}
            st.multiselect(one.label, list(words), **said)
        case "date":
            st.date_input(one.label, value=None, format="YYYY-MM-DD", **said)
        case "money":
            label = f"{one.label} ({currency})"
            _number(label, one, float, 0.01, said | {"step": 0.1, "format": "%.2f"})
        case "whole":
            _number(one.label, one, int, 1, said | {"step": 1, "format": "%d"})
        case "number":
            step = 1.0 if (one.high or 0) > 2 else 0.05
            _number(one.label, one, float, 1, said | {"step": step, "format": "%g"})


def _number(
    label: str, one: FormField, of: type[int] | type[float], unit: float, said: dict[str, Any]
) -> None:
    """Streamlit wants limits and value of one type; some classes limit fractions by whole
    numbers. `unit`: what one of the class is in the widget, money in cents for one."""
    low, high = (None if limit is None else of(limit * unit) for limit in (one.low, one.high))
    placeholder = one.blank or "not set"
    st.number_input(label, low, high, value=None, placeholder=placeholder, **said)


def _price(
    key: str, kind: type[Rule], cents: float | None, currency: str, changed: Callable[[], None]
) -> None:
    """Hard or priced, and the price per unit of breach."""
    _seed(_key(key, "hardness"), HARD if cents is None else PRICED)
    how = st.radio("How firm", [HARD, PRICED], key=_key(key, "hardness"), horizontal=True,
                   on_change=changed)  # fmt: skip
    if how == PRICED:
        _seed(_key(key, "price_cents"), (FIRST_PRICE_CENTS if cents is None else cents) / 100)
        st.number_input(f"Price per {kind.unit} ({currency})", 0.0, step=0.1, format="%g",
                        key=_key(key, "price_cents"), on_change=changed)  # fmt: skip
