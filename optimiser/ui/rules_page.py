"""Rules: what the kitchen keeps to, as sentences; each opens as a form."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import streamlit as st

from optimiser.present import Present
from optimiser.report_base import money_text
from optimiser.rule_draft import said
from optimiser.rule_effects import Effects, effects_on
from optimiser.rule_loosen import Loosened, loosened
from optimiser.rules import default_rules
from optimiser.ui import rules_conflict
from optimiser.ui.desk import desk, present_of, undo_bar
from optimiser.ui.desk import week as week_of_desk
from optimiser.ui.plain import plain_markdown
from optimiser.ui.rules_add import add_panel
from optimiser.ui.rules_list import list_rules
from optimiser.ui.rules_work import Work, save_button, work_at
from optimiser.week import Week

STYLE_FILE = Path(__file__).with_name("rules.css")

NO_PLAN = "There is no plan of this week yet. Plan it, and each rule here says whether it holds."
GONE = "The present week speaks of things that are no longer in the tables: plan it again."


def page() -> None:
    """Show the page."""
    st.html(STYLE_FILE)
    here = desk()
    work = work_at(here)
    st.title("Rules")
    undo_bar(here)
    week = _week(work)
    present = present_of(work.desk)
    effects = effects_on(present.plan, week, week.rules) if present else None
    _holds(work, present, effects)
    _draft(work, here.revision)
    with st.container(horizontal=True):
        st.button("Add a rule", key="add_rule", on_click=_add, args=(work,))
        rules_conflict.ask_button(here.place, week)
    rules_conflict.answer(here.place, week, work.loosen)
    if work.adding:
        add_panel(work, week, present)
    with st.container(key="rules_topics"):
        list_rules(work, week, effects)


def _week(work: Work) -> Week:
    """The week under the rules of the draft."""
    return replace(week_of_desk(work.desk), rules=work.rules)


def _add(work: Work) -> None:
    work.adding, work.open = True, None


def _holds(work: Work, present: Present | None, effects: Effects | None) -> None:
    """Whether the present week keeps the rules as they stand on the page."""
    if present is None or effects is None:
        st.info(NO_PLAN)
        return
    if effects.gone:
        st.warning(GONE)
        return
    currency = work.desk.cafe.currency
    whose = "these rules" if work.draft.dirty else "the rules"
    cost = plain_markdown(f"Priced rules that it breaks cost {money_text(effects.cents, currency)}")
    cost += _than_saved(work, present, effects, currency)
    if not effects.broken:
        hard = sum(one.rule.price_cents is None for one in effects.each)
        st.success(f"✓ The present week keeps {whose}: all {hard} hard ones. {cost}.")
        return
    lines = [f"✗ The present week breaks {len(effects.broken)} of {whose}. {cost}.", ""]
    for one in effects.broken:
        first = one.breaches[0].text
        more = f", and {len(one.breaches) - 1} more" if len(one.breaches) > 1 else ""
        lines.append(f"- {plain_markdown(f'{one.rule.title}: {first}{more}')}")
    st.error("\n".join(lines))
    _loosen_button(work, present, effects)


def _loosen_button(work: Work, present: Present, effects: Effects) -> None:
    """Loosen what the present week breaks, just as far as it needs: sure to leave a week."""
    changes = tuple(
        Loosened(number, loosened(one.rule, present.plan, work.desk.cafe))
        for number, one in enumerate(effects.each)
        if one.forbidden
    )
    now = [
        f"{effects.each[one.number].rule.title}: off."
        if one.rule is None
        else said(one.rule, work.desk.cafe)
        for one in changes
    ]
    words = plain_markdown("Loosen to the present week: " + " ".join(now))
    st.button(words, key="loosen_to_present", on_click=work.loosen, args=(changes,))


def _than_saved(work: Work, present: Present, effects: Effects, currency: str) -> str:
    """` ($2.00 under the rules as saved)`, where a draft changes what is paid."""
    if not work.draft.dirty:
        return ""
    rules = default_rules(work.desk.cafe, work.desk.reading.rules)
    saved = effects_on(present.plan, week_of_desk(work.desk), rules)
    if abs(saved.cents - effects.cents) < 0.5:
        return ""
    return " " + plain_markdown(f"({money_text(saved.cents, currency)} under the rules as saved)")


def _draft(work: Work, revision: int) -> None:
    """What is changed and not saved, with Save and Discard."""
    if not work.draft.dirty:
        return
    cafe = work.desk.cafe
    with st.container(border=True, key="rules_draft"):
        st.markdown("**Not saved yet**")
        st.markdown("\n".join(f"- {plain_markdown(edit)}" for edit in work.draft.edits(cafe)))
        if revision != work.desk.revision:
            st.warning("The rules were saved by somebody else meanwhile; this draft is older.")
        with st.container(horizontal=True):
            save_button(work, "save_rules")
            st.button("Discard", key="discard_rules", on_click=work.discard)
        if work.faulty:
            st.caption("A rule still has a fault: mend it first.")
