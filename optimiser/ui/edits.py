"""Unsaved edits of dishes and ingredients, kept while a person moves between pages.

Each edit remembers the desk it began at: saving on a newer one is a stale save, which
says what changed meanwhile instead of writing over it.
"""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from optimiser.cafe import Cafe
from optimiser.dish_draft import Checked, Draft, checked, draft_of, with_draft
from optimiser.document import Document, read_document
from optimiser.ui.desk import Desk

KEY = "thing_edits"
COUNT = "thing_edit_count"


@dataclass
class Edit:
    """A draft and the desk it was made at; `generation` names its widgets."""

    desk: Desk
    draft: Draft
    generation: int
    _checked: tuple[Draft, Checked] | None = None

    def typed(self, draft: Draft) -> None:
        """Take over what was typed; a draft that says the same is not read again."""
        if draft != self.draft:
            self.draft = draft

    @property
    def checked(self) -> Checked:
        """The tables as drafted, read once for each draft."""
        if self._checked is None or self._checked[0] is not self.draft:
            found = Checked(self.desk.document, self.desk.reading, {})
            if with_draft(self.desk.document, self.draft) != self.desk.document:
                found = checked(self.desk.document, self.draft)
            self._checked = (self.draft, found)
        return self._checked[1]

    @property
    def document(self) -> Document:
        """The tables as drafted."""
        return self.checked.document

    @property
    def is_dirty(self) -> bool:
        """Whether there is anything to save."""
        return self.document is not self.desk.document

    @property
    def cafe(self) -> Cafe:
        """The cafe as saved, with the new ingredients that come with the draft."""
        if not self.draft.extra:
            return self.desk.cafe
        document = self.desk.document
        for one in self.draft.extra:
            document = with_draft(document, one)
        return read_document(document).cafe


def edit_of(desk: Desk, file: str, ident: str) -> Edit | None:
    """The edit of a thing, begun anew where nothing of it is unsaved; None if it is gone."""
    found = _edits().get((file, ident))
    if found is not None and found.desk.revision != desk.revision:
        if with_draft(desk.document, found.draft) == desk.document or not found.is_dirty:
            found = None
    if found is None:
        try:
            draft = draft_of(desk.document, file, ident)
        except KeyError:
            drop(file, ident)
            return None
        found = begin(desk, draft)
    return found


def begin(desk: Desk, draft: Draft) -> Edit:
    """An edit of this draft, in the place of any other of the same thing."""
    st.session_state[COUNT] = st.session_state.get(COUNT, 0) + 1
    edit = Edit(desk, draft, st.session_state[COUNT])
    _edits()[(draft.file, draft.ident)] = edit
    return edit


def drop(file: str, ident: str) -> None:
    """Forget an edit."""
    _edits().pop((file, ident), None)


def unsaved(desk: Desk, file: str) -> dict[str, str]:
    """Id -> name of everything with unsaved edits, new things included."""
    return {
        edit.draft.ident: edit.draft.facts.get("name", edit.draft.ident)
        for (one, _), edit in _edits().items()
        if one == file and edit.is_dirty and edit.document != desk.document
    }


def _edits() -> dict[tuple[str, str], Edit]:
    found: dict[tuple[str, str], Edit] = st.session_state.setdefault(KEY, {})
    return found
