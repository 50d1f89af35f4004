"""The rules being changed on the page, kept while the person looks at other pages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import streamlit as st

from optimiser.document_edits import with_rules
from optimiser.rule_draft import Draft
from optimiser.rule_fields import form_fields, rule_of
from optimiser.rule_loosen import Loosened
from optimiser.rules import Rule, default_rules
from optimiser.ui import stale
from optimiser.ui.desk import Desk, save
from optimiser.ui.desk import week as week_of_desk

KEY = "rules_work"


@dataclass
class Work:
    """A draft and what is open. `desk`: the tables that the draft started from; `open`: the
    entry, or the rule that follows from the settings, whose form is open; `unsaid`: whether
    the form says no rule; `round` tells the widgets of one draft from those of the next."""

    desk: Desk
    draft: Draft
    round: int = 0
    open: int | Rule | None = None
    adding: bool = False
    unsaid: bool = False

    @property
    def rules(self) -> tuple[Rule, ...]:
        """All rules that would count, those that follow from the settings last."""
        return default_rules(self.desk.cafe, self.draft.on)

    @property
    def implied(self) -> tuple[Rule, ...]:
        """The rules that follow from the settings."""
        return self.rules[len(self.draft.on) :]

    @property
    def faulty(self) -> bool:
        """Whether something has to be mended before it can be saved."""
        cafe = self.desk.cafe
        return self.unsaid or any(rule.faults(cafe) for rule in self.draft.on)

    def toggle(self, key: int | Rule) -> None:
        """Open one form, or close it; a form that says no rule is forgotten."""
        self.open = None if self.open == key else key
        self.unsaid = False
        self.adding = False

    def take(self, key: int, values: dict[str, Any]) -> None:
        """What the open form says is now in the draft, if it is a rule."""
        entry = self.draft.entry(key)
        if entry is not None:
            rule = self._said(type(entry.rule), values)
            self.unsaid = rule is None
            self.draft = self.draft if rule is None else self.draft.with_rule(key, rule)

    def take_implied(self, rule: Rule, values: dict[str, Any]) -> None:
        """A rule that follows from the settings gets an entry of its own once it differs."""
        new = self._said(type(rule), values)
        self.unsaid = new is None
        if new is not None and new != rule:
            self.open = self.draft.next_key
            self.draft = self.draft.with_new(new)

    def _said(self, kind: type[Rule], values: dict[str, Any]) -> Rule | None:
        fields = form_fields(kind, week_of_desk(self.desk), values)
        return rule_of(kind, values, fields, self.desk.cafe)[0]

    def switch(self, key: int) -> None:
        """Off, or on again."""
        self.draft = self.draft.switched(key)

    def remove(self, key: int) -> None:
        """Take a rule out."""
        self.draft = self.draft.without(key)
        self.open, self.unsaid = None, False

    def add(self, rule: Rule) -> None:
        """One rule more."""
        self.draft = self.draft.with_new(rule)
        self.round += 1
        self.open, self.adding = None, False

    def loosen(self, rules: Iterable[Loosened]) -> None:
        """Put a repair's changed rules into the draft. Their numbers are those of `rules`."""
        keys = [one.key for one in self.draft.entries if one.on]
        for one in rules:
            if one.number >= len(keys):
                if one.rule is not None:
                    self.draft = self.draft.with_new(one.rule)
            elif one.rule is None:
                self.draft = self.draft.switched(keys[one.number])
            else:
                self.draft = self.draft.with_rule(keys[one.number], one.rule)
        self.round += 1
        self.open, self.unsaid = None, False

    def discard(self) -> None:
        """Start anew from what is saved."""
        saved = Draft.of(self.desk.reading.rules, self.desk.reading.rules_off)
        st.session_state[KEY] = Work(self.desk, saved, self.round + 1)

    def save(self) -> bool:
        """Save the draft, as made from the tables that it started from."""
        document = with_rules(self.desk.document, self.draft.on, self.draft.off)
        return save(document, self.draft.message(), self.desk)


def save_button(work: Work, key: str) -> None:
    """Keeps the draft, and the page starts anew. An edit that came too late is the desk's
    to keep and explain from then on."""
    pressed = st.button("Save the rules", type="primary", key=key, disabled=work.faulty)
    if pressed and (work.save() or stale.KEY in st.session_state):
        work.discard()
        st.rerun()


def work_at(here: Desk) -> Work:
    """The work going on, or new work at the tables as they are. A draft stays when other
    tables than the rules have changed meanwhile."""
    work: Work | None = st.session_state.get(KEY)
    if work is not None and work.desk.revision == here.revision:
        return work
    now = (here.reading.rules, here.reading.rules_off)
    if work is not None and work.draft.dirty:
        if now == (work.desk.reading.rules, work.desk.reading.rules_off):
            work.desk = here
            return work
        if now != (work.draft.on, work.draft.off):
            return work
    work = Work(here, Draft.of(*now), round=0 if work is None else work.round + 1)
    st.session_state[KEY] = work
    return work
