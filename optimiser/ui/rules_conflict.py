"""Whether all rules can hold together: the conflict if not, and its repairs as buttons."""

from __future__ import annotations

from collections.abc import Callable, Hashable

import streamlit as st

from optimiser import jobs
from optimiser.explain import Conflict, conflict
from optimiser.repairs import Repair
from optimiser.rule_draft import said
from optimiser.rule_effects import effects_on
from optimiser.rule_loosen import Loosened, mended
from optimiser.rules import Rule
from optimiser.ui.plain import plain_markdown
from optimiser.ui.watch import EVERY_SECONDS
from optimiser.week import Week

SECONDS = 20.0

Adopt = Callable[[tuple[Loosened, ...]], None]


def key_of(place: str) -> Hashable:
    """The job that looks for a conflict."""
    return (place, "conflict")


def ask_button(place: str, week: Week) -> None:
    """A button that asks whether the rules of `week` can all hold."""
    job = jobs.find(key_of(place))
    st.button(
        "Can all rules hold?",
        key="ask_conflict",
        disabled=job is not None and not job.done,
        on_click=ask,
        args=(place, week),
    )


def ask(place: str, week: Week, seconds: float = SECONDS) -> None:
    """Start looking, in the background."""
    jobs.start(key_of(place), lambda _report, _stop: conflict(week, seconds), about=week.rules)


def answer(place: str, week: Week, adopt: Adopt) -> None:
    """What was found out about the rules of `week`, or that it is being looked for."""
    job = jobs.find(key_of(place))
    if job is None:
        return
    if not job.done:
        _waiting(place)
        return
    if job.about != week.rules:
        st.caption("The rules have changed since it was asked whether all can hold.")
    elif job.error:
        st.error(job.error)
    elif isinstance(job.result, Conflict):
        _show(job.result, week, adopt)


@st.fragment(run_every=EVERY_SECONDS)
def _waiting(place: str) -> None:
    job = jobs.find(key_of(place))
    if job is None or job.done:
        st.rerun()
    st.info(f"Looking whether all rules can hold, and what would help: {job.seconds:.0f} s")


def _show(found: Conflict, week: Week, adopt: Adopt) -> None:
    lines = found.sentences()
    if found.holds:
        st.success(plain_markdown(lines[0]))
        return
    why, head = lines[: -1 - len(found.repairs)], lines[-1 - len(found.repairs)]
    with st.container(border=True, key="conflict"):
        st.error(plain_markdown(why[0]))
        st.markdown("\n".join(f"- {plain_markdown(line.strip(' -'))}" for line in why[1:]))
        st.markdown(plain_markdown(head))
        for number, repair in enumerate(found.repairs):
            _repair(number, repair, week, adopt)


def _repair(number: int, repair: Repair, week: Week, adopt: Adopt) -> None:
    changes = mended(week.rules, repair, week.cafe)
    allowed = changes is not None and _allows(repair, week, changes)
    label = plain_markdown(repair.sentence())
    st.button(label, key=f"repair_{number}", disabled=not allowed, on_click=adopt, args=(changes,))
    if changes is None:
        st.caption("Fewer places in the cabinet are set in Settings, for the whole week.")
    elif allowed:
        st.caption(plain_markdown("In the rules: " + " ".join(_said(week, changes))))
    else:
        st.caption("No change of these rules' own numbers says just this.")


def _said(week: Week, changes: tuple[Loosened, ...]) -> list[str]:
    return [
        f"{week.rules[one.number].title}: switched off."
        if one.rule is None
        else said(one.rule, week.cafe)
        for one in changes
    ]


def _allows(repair: Repair, week: Week, changes: tuple[Loosened, ...]) -> bool:
    """Whether the repair's own week keeps all rules once they are changed."""
    new: dict[int, Rule | None] = {one.number: one.rule for one in changes}
    rules = [new.get(number, rule) for number, rule in enumerate(week.rules)]
    effects = effects_on(repair.plan, week, [rule for rule in rules if rule is not None])
    return not effects.gone and not effects.broken
