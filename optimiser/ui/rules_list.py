"""The rules by topic, a line each; the one that is open shows its form below."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from itertools import chain, repeat

import streamlit as st

from optimiser.report_base import money_text
from optimiser.rule_draft import Entry, said
from optimiser.rule_effects import Effect, Effects
from optimiser.rules import TOPICS, Rule, catalogue
from optimiser.rules.base import HOUSE_RULE
from optimiser.rules.words import plain
from optimiser.ui.plain import plain_markdown
from optimiser.ui.rule_form import Take, rule_form, values_of
from optimiser.ui.rules_work import Work, save_button
from optimiser.week import Week

MOST_BREACHES = 4
"""So many breaches of one rule are told; the rest are counted."""

KEPT, BROKEN, PAID, OFF, OPEN_QUESTION = "✓", "✗", "¢", "○", "·"


def list_rules(work: Work, week: Week, effects: Effects | None) -> None:
    """All rules of the draft, by topic."""
    found = iter(effects.each) if effects is not None else iter(())
    on = [one for one in work.draft.entries if one.on]
    told = dict(zip((one.key for one in on), chain(found, repeat(None)), strict=False))
    implied = list(zip(work.implied, chain(found, repeat(None)), strict=False))
    for topic, kinds in TOPICS.items():
        here = [one for one in work.draft.entries if type(one.rule) in kinds]
        follow = [(rule, effect) for rule, effect in implied if type(rule) in kinds]
        if not here and not follow:
            continue
        st.markdown(f"## {topic}")
        with st.container(gap=None):
            for entry in sorted(here, key=lambda one: not one.on):
                _entry(work, week, entry, told.get(entry.key))
            for rule, effect in follow:
                _implied(work, week, rule, effect)


def _entry(work: Work, week: Week, entry: Entry, effect: Effect | None) -> None:
    """One line, what the present week says to it, and the form if it is open."""
    rule, cafe = entry.rule, week.cafe
    changed = " **· changed**" if entry.changed else ""
    label = (
        f"{_mark(entry.on, effect, week)} {plain_markdown(said(rule, cafe))}{_priced(rule, week)}"
    )
    st.button(label + changed, key=f"rule_line_{entry.key}", type="tertiary", width="stretch",
              on_click=work.toggle, args=(entry.key,))  # fmt: skip
    if effect is not None:
        _breaches(effect, week)
    if work.open == entry.key:
        with st.container(border=True, key="rule_open"):
            _open(work, week, entry)


def _implied(work: Work, week: Week, rule: Rule, effect: Effect | None) -> None:
    """A rule that follows from the minutes in Settings, until somebody changes it."""
    name = "_".join(str(value) for value in values_of(rule).values())
    label = f"{_mark(True, effect, week)} {plain_markdown(said(rule, week.cafe))}"
    st.button(f"{label} :small[from Settings]", key=f"rule_line_{rule.kind}_{name}",
              type="tertiary", width="stretch", on_click=work.toggle, args=(rule,))  # fmt: skip
    if effect is not None:
        _breaches(effect, week)
    if work.open == rule:
        with st.container(border=True, key="rule_open"):
            key = f"rule{work.round}_{rule.kind}_{name}"
            _form(key, rule, week, lambda values: work.take_implied(rule, values))
            st.button("Close", key="close_rule", on_click=work.toggle, args=(rule,))


def _mark(on: bool, effect: Effect | None, week: Week) -> str:
    """A sign and, where something is wrong, a word: never a colour alone."""
    if not on:
        return f"{OFF} *Off:*"
    if effect is None:
        return OPEN_QUESTION
    if effect.faults:
        return f"{BROKEN} **Does not fit:**"
    if effect.kept:
        return KEPT
    if effect.forbidden:
        return f"{BROKEN} **Broken:**"
    return f"{PAID} **{plain_markdown(money_text(effect.cents, week.cafe.currency))}:**"


def _priced(rule: Rule, week: Week) -> str:
    if rule.price_cents is None:
        return ""
    price = _price_text(rule.price_cents, week.cafe.currency)
    return f" :small[{plain_markdown(f'{price} per {rule.unit}')}]"


def _price_text(cents: float, currency: str) -> str:
    """A price; one of less than a cent in cents, which money would round away."""
    whole = abs(cents - round(cents)) < 1e-9
    return money_text(cents, currency) if whole else f"{cents:g} cents"


def _breaches(effect: Effect, week: Week) -> None:
    """Where the present week breaks a rule, by how much, and what that costs."""
    lines = [*effect.faults]
    lines += [one.text for one in effect.breaches[:MOST_BREACHES]]
    if not lines:
        return
    if len(effect.breaches) > MOST_BREACHES:
        lines.append(f"and {len(effect.breaches) - MOST_BREACHES} more")
    head = ""
    if effect.breaches:
        head = f"By {plain(effect.over)} × {effect.rule.unit}"
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    kind = "found" if effect.faults or effect.forbidden else "found paid"
    st.html(f'<div class="{kind}">{escape(head)}<ul>{items}</ul></div>')


def _open(work: Work, week: Week, entry: Entry) -> None:
    """The form, and what else can be done with the rule."""
    key = f"rule{work.round}_{entry.key}"
    _form(key, entry.rule, week, lambda values: work.take(entry.key, values))
    with st.container(horizontal=True):
        if entry.changed:
            save_button(work, "save_open")
        st.button("Close", key="close_rule", on_click=work.toggle, args=(entry.key,))
        word = "Switch off" if entry.on else "Switch on"
        st.button(word, key="switch_rule", on_click=work.switch, args=(entry.key,))
        st.button("Remove", key="remove_rule", on_click=work.remove, args=(entry.key,))


def _form(key: str, rule: Rule, week: Week, take: Take) -> None:
    about(type(rule))
    _, faults = rule_form(key, type(rule), values_of(rule), week, take)
    show_faults(faults)


def about(kind: type[Rule]) -> None:
    """What a kind of rule asks, with a good and a bad week, and where it comes from."""
    st.markdown(f"**{plain_markdown(kind.title)}**")
    source = "" if kind.source == HOUSE_RULE else f" Source: {kind.source.rstrip('.')}."
    st.caption(
        plain_markdown(f"{catalogue.sentence(kind)} Good: {kind.kept}. Bad: {kind.broken}.{source}")
    )


def show_faults(faults: Iterable[str]) -> None:
    """What is wrong with a rule, in its form."""
    for fault in faults:
        st.error(plain_markdown(fault))
