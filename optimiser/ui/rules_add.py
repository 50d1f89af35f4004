"""A new rule from the catalogue, with what it would do to the present week."""

from __future__ import annotations

from typing import Any

import streamlit as st

from optimiser.present import Present
from optimiser.report_base import money_text
from optimiser.rule_draft import said
from optimiser.rule_effects import effects_on
from optimiser.rules import TOPICS, Rule
from optimiser.rules.words import plain
from optimiser.ui.plain import plain_markdown
from optimiser.ui.rule_form import rule_form
from optimiser.ui.rules_list import about, show_faults
from optimiser.ui.rules_work import Work
from optimiser.week import Week

KINDS: dict[str, type[Rule]] = {
    f"{topic}: {kind.title}": kind for topic, kinds in TOPICS.items() for kind in kinds
}
"""Every kind of rule by what the page calls it."""


def add_panel(work: Work, week: Week, present: Present | None) -> None:
    """Choose a kind, fill it in, see what it does, add it."""
    with st.container(border=True, key="rule_new"):
        name = st.selectbox("Kind of rule", list(KINDS), index=None, key="new_kind",
                            placeholder="choose, or type a word")  # fmt: skip
        rule: Rule | None = None
        faults: list[str] = []
        if name is not None:
            kind = KINDS[name]
            about(kind)
            rule, faults = rule_form(f"new{work.round}_{kind.__name__}", kind, {}, week, _nothing)
            show_faults(faults)
        if rule is not None and not faults:
            st.markdown(f"**{plain_markdown(said(rule, week.cafe))}**")
            if present is not None:
                st.caption(plain_markdown(_would(rule, week, present)))
        with st.container(horizontal=True):
            st.button("Add this rule", key="add_new", type="primary", on_click=work.add,
                      args=(rule,), disabled=rule is None or bool(faults))  # fmt: skip
            st.button("Cancel", key="cancel_new", on_click=_cancel, args=(work,))


def _would(rule: Rule, week: Week, present: Present) -> str:
    """What the present week says to a rule that does not count yet."""
    effects = effects_on(present.plan, week, [rule])
    if effects.gone:
        return "The present week has to be planned again before this can be said."
    (effect,) = effects.each
    if effect.kept:
        return "The present week keeps it."
    by = f"by {plain(effect.over)} × {rule.unit}: {effect.breaches[0].text}"
    if effect.forbidden:
        return f"The present week breaks it, {by}."
    cost = money_text(effect.cents, week.cafe.currency)
    return f"The present week breaks it for {cost}, {by}."


def _nothing(_: dict[str, Any]) -> None:
    """A rule that is not added yet changes nothing."""


def _cancel(work: Work) -> None:
    work.adding = False
