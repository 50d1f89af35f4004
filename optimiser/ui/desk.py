"""The desk a page works at: the head of the store, saving to it, undo and redo."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from optimiser.cafe import Cafe
from optimiser.document import Document, read_document
from optimiser.formats import use_locale
from optimiser.places import page_store, somebody
from optimiser.present import Present, judged, lots_since, week_of
from optimiser.rules import default_rules
from optimiser.rules.base import Rule
from optimiser.sample import sample_document
from optimiser.store import KeptPlan, Revision, StaleSave, Store, StoreFault
from optimiser.table_faults import Fault, TableFaults
from optimiser.tables import Reading
from optimiser.ui import stale
from optimiser.ui.door import signed_in
from optimiser.ui.notices import show_notices
from optimiser.ui.plain import plain_markdown
from optimiser.week import Week

TROUBLES = "desk_troubles"
FIRST_MESSAGE = "The sample cafe"


@dataclass(frozen=True)
class Desk:
    """The tables as they are now. `place`: of the store; `head`: the revision they are."""

    place: str
    head: Revision
    document: Document = field(repr=False)
    reading: Reading = field(repr=False)

    @property
    def revision(self) -> int:
        """Number of the revision."""
        return self.head.id

    @property
    def cafe(self) -> Cafe:
        """The cafe's facts."""
        return self.reading.cafe

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """The cafe's rules and those that follow from its settings."""
        return default_rules(self.cafe, self.reading.rules)

    @property
    def week(self) -> Week:
        """The week to plan. Raises ValueError if the cafe is closed on all of it."""
        return week_of(self.cafe, self.reading.rules, date.today())


def place() -> str:
    """Where the store is: as the environment says, else in the user's own data folder."""
    return page_store()


def who() -> str:
    """Who is working: the name signed in with, else the user of this computer."""
    return signed_in() or somebody()


def open_store() -> Store:
    """The store, made with the sample cafe if it is not there yet. Raises StoreFault."""
    store = Store.open(place(), create=True)
    try:
        if store.head() is None:
            _fill(store)
    except BaseException:
        store.close()
        raise
    return store


def _fill(store: Store) -> None:
    try:
        store.save(sample_document(), somebody(), FIRST_MESSAGE, None)
    except StaleSave:
        pass  # somebody else opened the page at the same moment


def desk() -> Desk:
    """The head of the store. Faults are shown, and the page ends there."""
    try:
        with open_store() as store:
            head = store.head()
            assert head is not None  # open_store filled it
            found = _read(store.name, head, store)
    except (StoreFault, OSError) as fault:
        st.error(f"The store cannot be used: {fault}")
        st.stop()
    except TableFaults as faults:
        st.error("The tables in the store cannot be read by this version of the program:")
        show_faults(faults.faults)
        st.stop()
    use_locale(found.cafe.locale)
    _troubles()
    show_notices()
    stale.panel(found, "top", save)
    return found


def desk_at(revision: int) -> Desk | None:
    """The tables of an earlier revision; None if this program does not read them any more."""
    try:
        with open_store() as store:
            found = next((one for one in store.history() if one.id == revision), None)
            return None if found is None else _read(store.name, found, store)
    except (StoreFault, OSError, TableFaults):
        return None


@st.cache_resource(max_entries=16, show_spinner=False, hash_funcs={Revision: repr})
def _read(name: str, head: Revision, _store: Store) -> Desk:
    """Revisions never change: each is read once."""
    document = _store.document(head.id)
    return Desk(place(), head, document, read_document(document))


def week(desk: Desk) -> Week:
    """The week to plan; where there is none the page says so and ends."""
    try:
        return desk.week
    except ValueError as error:
        st.error(f"There is no week to plan: {error}. Change `week` or `open_days` in Settings.")
        st.stop()


def present_of(desk: Desk) -> Present | None:
    """The latest kept plan of the week, judged by the tables of the desk."""
    kept = latest_plans(desk, 1)
    return judge(desk, kept[0]) if kept else None


def judge(desk: Desk, kept: KeptPlan) -> Present:
    """A kept plan under the tables of the desk."""
    old = None if kept.revision == desk.revision else desk_at(kept.revision)
    lots = None if old is None else lots_since(old.document, old.cafe, desk.document)
    return judged(kept, week(desk), desk.revision, lots)


def latest_plans(desk: Desk, most: int) -> list[KeptPlan]:
    """The plans of the week that were kept last, newest first."""
    this_week = week(desk)
    try:
        with open_store() as store:
            return store.latest_plans(this_week.start, most)
    except (StoreFault, OSError) as fault:
        st.error(f"The plans cannot be read: {fault}")
        st.stop()


def save(document: Document, message: str, desk: Desk) -> bool:
    """Keep tables made from those of `desk`. True: saved; the caller reruns, if it is no callback.

    Otherwise nothing was saved, and it is said why: in place, or from a callback by `desk()`.
    An edit that came too late is kept and shown with what has changed meanwhile.
    """
    try:
        with open_store() as store:
            store.save(document, who(), message, desk.revision)
    except TableFaults as faults:
        _say(["Nothing was saved. Please mend:", *(str(fault) for fault in faults.faults)])
    except StaleSave as clash:
        stale.remember(clash, document, message, desk.document)
        if not _in_callback():
            stale.panel(newest(desk), "here", save)
    except (StoreFault, OSError) as fault:
        _say([f"Nothing was saved: {fault}"])
    else:
        return True
    return False


def newest(desk: Desk) -> Desk:
    """The head of the store now; `desk` where it cannot be read."""
    try:
        with open_store() as store:
            head = store.head()
            return desk if head is None else _read(store.name, head, store)
    except (StoreFault, OSError, TableFaults):
        return desk


def show_faults(faults: Iterable[Fault]) -> None:
    """All faults, one line each: file, row, column, value, what is wrong and the mend."""
    _say([str(fault) for fault in faults])


def _say(lines: list[str]) -> None:
    """Errors in place; from a callback, which has no place, at the top of the page to come."""
    if _in_callback():
        st.session_state[TROUBLES] = [*st.session_state.get(TROUBLES, ()), *lines]
        return
    for line in lines:
        st.error(plain_markdown(line))


def _troubles() -> None:
    _say(st.session_state.pop(TROUBLES, []))


def _in_callback() -> bool:
    context = get_script_run_ctx()
    return context is not None and not context.has_script_started


def undo_bar(desk: Desk) -> None:
    """Buttons for undo and redo, each saying what it would take back or do again."""
    try:
        with open_store() as store:
            redo = store.next_redo()
    except (StoreFault, OSError) as fault:
        st.error(f"The history cannot be read: {fault}")
        return
    undoes = desk.head.message if desk.head.parent is not None else ""
    redoes = redo.message if redo else ""
    with st.container(horizontal=True, key="undo_bar", width="content"):
        for word, sign, message in (("Undo", "↶", undoes), ("Redo", "↷", redoes)):
            possible = desk.head.parent is not None if word == "Undo" else redo is not None
            what = f": {plain_markdown(_short(message))}" if possible and message else ""
            st.button(
                f"{sign} {word}{what}",
                key=f"step_{word}",
                disabled=not possible,
                help=plain_markdown(message) or None,
                on_click=_step,
                args=(word, desk.revision),
            )


def _short(message: str, most: int = 24) -> str:
    line = message.split("\n")[0]
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def _step(word: str, revision: int) -> None:
    """Undo or redo, unless what the person looked at is no longer the newest."""
    try:
        with open_store() as store:
            head = store.head()
            if head is None or head.id != revision:
                _say([f"Not done, for somebody was faster: the newest is {head}."])
            elif word == "Undo":
                store.undo(who())
            else:
                store.redo(who())
    except (StoreFault, OSError) as fault:
        _say([str(fault)])
