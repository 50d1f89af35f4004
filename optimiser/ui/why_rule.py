"""What a rule costs the week, as far as that is proven."""

from __future__ import annotations

from html import escape

import streamlit as st

from optimiser.document_edits import with_rules
from optimiser.question_jobs import latest
from optimiser.questions_wide import WhatARuleCosts
from optimiser.rules.base import Rule
from optimiser.ui import ask
from optimiser.ui.at_hand import AtHand, said
from optimiser.ui.kept_state import kept, remember, restore
from optimiser.ui.ways import link
from optimiser.ui.wish_saved import keep

RULE = "why_rule"
MOST_LETTERS = 90


def rule_panel(view: AtHand) -> None:
    """Ask about one of the rules that the week keeps to."""
    rules = view.week.rules
    if not rules:
        said("There are no rules yet.")
        link("Rules", "Open the rules")
        return
    number = _pick(view, rules)
    rule = rules[number]
    said(rule.describe(view.desk.cafe))
    question = WhatARuleCosts(number, rule.title)
    ask.ask_button(view, question, "What does it cost?", primary=True)
    found = ask.answer(view, question)
    if found is None:
        return
    st.html(f'<p class="loss"><strong>{escape(found.sentence)}</strong></p>')
    proven = "Exact." if found.exact else "Not closer than that in the time given."
    st.html(f'<p class="within">{proven}</p>')
    with st.container(horizontal=True, vertical_alignment="center"):
        _switch_off(view, rule)
        link("Rules", "Change it on the page Rules")


def _pick(view: AtHand, rules: tuple[Rule, ...]) -> int:
    """The place of a rule among those of the week."""
    if not kept(RULE) and RULE not in st.session_state:
        asked = latest(view.spot, WhatARuleCosts)
        if isinstance(asked, WhatARuleCosts):
            remember(RULE, asked.number)
    restore(RULE, 0)
    if st.session_state[RULE] not in range(len(rules)):
        st.session_state[RULE] = 0

    def words(number: int) -> str:
        rule = rules[number]
        text = f"{rule.title}: {rule.describe(view.desk.cafe)}"
        return text if len(text) <= MOST_LETTERS else text[: MOST_LETTERS - 1].rstrip() + "…"

    number: int = st.selectbox("Rule", range(len(rules)), key=RULE, format_func=words)
    remember(RULE, number)
    return number


def _switch_off(view: AtHand, rule: Rule) -> None:
    """A rule of one's own can be switched off; those of the settings cannot."""
    own = view.desk.reading.rules
    if rule not in own or not st.button("Switch it off", key="do_off"):
        return
    rest = tuple(one for one in own if one != rule)
    off = (*view.desk.reading.rules_off, rule)
    keep(
        view.desk,
        with_rules(view.desk.document, rest, off),
        f"Switched off: {rule.title}",
    )
