"""The count in the making, found again after a page switch, a reload or a lost connection.

It is kept on the server under a word that only this browser window knows (in the address).
"""

from __future__ import annotations

import secrets
from collections import OrderedDict

import streamlit as st

from optimiser.larder_count import Draft, rebased, stock_of
from optimiser.ui.desk import Desk

KEY, TOLD = "larder_count", "larder_count_told"
MOST_DRAFTS = 200

Kept = OrderedDict[tuple[str, str], Draft]
"""Counts by store and word, the oldest first."""


@st.cache_resource(show_spinner=False)
def _kept() -> Kept:
    return OrderedDict()


def _word() -> str:
    """The word of this window's count; blank before there is one."""
    return str(st.session_state.get(KEY) or st.query_params.get(KEY, ""))


def draft_of(desk: Desk) -> Draft:
    """The count so far, on the stock as it is now; what somebody else saved meanwhile is
    noted in the session under TOLD."""
    draft = _kept().get((desk.place, _word()))
    if draft is None:
        return Draft(stock_of(desk.document))
    st.session_state[KEY] = st.query_params[KEY] = _word()
    moved, told = rebased(draft, stock_of(desk.document))
    if told:
        st.session_state[TOLD] = told
    if moved != draft:
        keep(desk, moved)
    return moved


def keep(desk: Desk, draft: Draft) -> None:
    """Keep the count; the oldest of all go when there are too many."""
    word = _word() or secrets.token_urlsafe(12)
    st.session_state[KEY] = st.query_params[KEY] = word
    kept = _kept()
    kept[(desk.place, word)] = draft
    kept.move_to_end((desk.place, word))
    while len(kept) > MOST_DRAFTS:
        kept.popitem(last=False)


def drop(desk: Desk) -> None:
    """Forget the count: it is saved, or to be begun again."""
    _kept().pop((desk.place, _word()), None)
    st.session_state.pop(KEY, None)
    st.session_state.pop(TOLD, None)
    st.query_params.pop(KEY, None)
