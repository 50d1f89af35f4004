"""A save that came too late: what changed meanwhile, and the person's own edit kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import streamlit as st

from optimiser.document import Document
from optimiser.document_merge import Merged, merge
from optimiser.store_faults import Revision, StaleSave, change_lines
from optimiser.ui.plain import plain_markdown

if TYPE_CHECKING:
    from optimiser.ui.desk import Desk

KEY = "stale_save"


@dataclass(frozen=True)
class Waiting:
    """An edit that could not be saved: `mine` was made from `base`."""

    meanwhile: tuple[Revision, ...]
    changes: tuple[str, ...]
    message: str
    mine: Document = field(repr=False)
    base: Document = field(repr=False)


def remember(clash: StaleSave, mine: Document, message: str, base: Document) -> None:
    """Keep an edit that could not be saved."""
    said = tuple(line.strip() for line in change_lines(clash.changes))
    st.session_state[KEY] = Waiting(clash.meanwhile, said, message, mine, base)


def panel(desk: Desk, where: str, save: Callable[[Document, str, Desk], bool]) -> None:
    """What changed meanwhile, if an edit waits. `where` tells two panels of a run apart."""
    waiting: Waiting | None = st.session_state.get(KEY)
    if waiting is None:
        return
    merged = merge(waiting.base, waiting.mine, desk.document)
    with st.container(border=True, key=f"stale_{where}"):
        st.warning(f"Not saved yet, and not lost: {plain_markdown(waiting.message)}")
        st.markdown("\n".join(f"- {plain_markdown(line)}" for line in _told(waiting)))
        if merged.clashes:
            st.markdown("**You both changed**")
            st.markdown("\n".join(f"- {plain_markdown(line)}" for line in merged.clashes))
        _buttons(desk, where, waiting, merged, save)


def _told(waiting: Waiting) -> list[str]:
    """Who changed what meanwhile."""
    who = [
        f"{one.who} at {one.when:%H:%M} UTC: {one.message or 'no message'}"
        for one in waiting.meanwhile
    ]
    return [*(who or ["Somebody went back to earlier tables."]), *waiting.changes]


def _buttons(
    desk: Desk,
    where: str,
    waiting: Waiting,
    merged: Merged,
    save: Callable[[Document, str, Desk], bool],
) -> None:
    def on_top() -> None:
        del st.session_state[KEY]
        save(merged.document, waiting.message, desk)

    def drop() -> None:
        del st.session_state[KEY]

    own = "Save mine on top"
    if merged.clashes:
        own = "Keep theirs in these, save the rest of mine"
    with st.container(horizontal=True):
        if merged.document != desk.document:
            st.button(own, key=f"stale_top_{where}", on_click=on_top, type="primary")
        st.button("Drop mine, look at theirs", key=f"stale_drop_{where}", on_click=drop)
