"""Whether all rules can hold together: the conflict if not, and its repairs as buttons."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

import streamlit as st

from optimiser.conflict_job import SECONDS, conflict_job, start_conflict
from optimiser.explain import Conflict
from optimiser.repair_choice import Repair
from optimiser.report_base import money_text
from optimiser.rule_draft import said
from optimiser.rule_effects import effects_on
from optimiser.rule_loosen import Loosened, mended
from optimiser.rules import Rule
from optimiser.ui.plain import plain_markdown
from optimiser.ui.watch import EVERY_SECONDS
from optimiser.week import Week

LONGER = 3
"""How many times as long the next search may take, where one did not come to an end."""

MOST_RULES = 6
"""So many rules are told even where perhaps not all of them matter."""

MOST_CHANGES = 3
"""A repair of more changes is told by the rules that it touches."""

Adopt = Callable[[tuple[Loosened, ...]], None]


def ask_button(place: str, week: Week) -> None:
    """A button that asks whether the rules of `week` can all hold."""
    job = conflict_job(place)
    st.button(
        "Can all rules hold?",
        key="ask_conflict",
        disabled=job is not None and not job.done,
        on_click=start_conflict,
        args=(place, week),
    )


def answer(place: str, week: Week, adopt: Adopt) -> None:
    """What was found out about the rules of `week`, or that it is being looked for."""
    job = conflict_job(place)
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
        if job.result.holds is not True and not (job.result.proven and job.result.repairs):
            longer = max(job.seconds, SECONDS) * LONGER
            st.button(
                f"Look longer, up to {longer:.0f} s",
                key="ask_longer",
                on_click=start_conflict,
                args=(place, week, longer),
            )


@st.fragment(run_every=EVERY_SECONDS)
def _waiting(place: str) -> None:
    job = conflict_job(place)
    if job is None or job.done:
        st.rerun()
    doing = f", {job.news[-1].doing}" if job.news else ""
    with st.container(border=True, key="conflict_wait"):
        st.html(
            '<p role="status">Looking whether all rules can hold, and what would help: '
            f"{job.seconds:.0f} s{escape(doing)}</p>"
        )
        st.button(
            "Stopping…" if job.stopping else "Stop, show what was found",
            key="stop_conflict",
            disabled=job.stopping,
            on_click=job.stop,
        )


def _show(found: Conflict, week: Week, adopt: Adopt) -> None:
    lines = found.sentences()
    if found.holds:
        st.success(plain_markdown(lines[0]))
        return
    why, head = lines[: -1 - len(found.repairs)], lines[-1 - len(found.repairs)]
    with st.container(border=True, key="conflict"):
        _why(why, found.proven or len(found.rules) <= MOST_RULES)
        st.markdown(plain_markdown(head))
        for number, repair in enumerate(found.repairs):
            _repair(number, repair, week, adopt)


def _why(lines: list[str], told: bool) -> None:
    """The conflict; rules of which many may not matter only on demand."""
    text = "\n".join(_line(line) for line in lines[1:])
    if told:
        st.error(plain_markdown(lines[0]))
        st.markdown(text)
        return
    st.error("The rules cannot all hold. The search ended before it was known which of them clash.")
    with st.expander("Rules that may take part"):
        st.markdown(text)


def _line(line: str) -> str:
    """A line for the terminal as Markdown: an entry of a list, or a line of its own."""
    text = plain_markdown(line.removeprefix("  - "))
    return f"- {text}" if line.startswith("  - ") else f"\n{text}"


def _repair(number: int, repair: Repair, week: Week, adopt: Adopt) -> None:
    changes = mended(week.rules, repair, week.cafe)
    allowed = changes is not None and _allows(repair, week, changes)
    st.button(
        plain_markdown(_label(repair)),
        key=f"repair_{number}",
        disabled=not allowed,
        on_click=adopt,
        args=(changes,),
    )
    money = money_text(repair.plan.objective_cents, repair.plan.currency)
    if changes is None:
        then = "Fewer places in the cabinet are set in Settings, for the whole week."
    elif allowed:
        then = f"Then, in the rules: {' '.join(_said(week, changes))}"
    else:
        then = "No change of these rules' own numbers says just this."
    st.caption(plain_markdown(f"A week found with it makes {money}. {then}"))
    lines = repair.lines()
    if len(lines) > len(repair.changes) or _is_long(repair):
        with st.expander(f"All {len(lines)} changes"):
            st.markdown("\n".join(f"- {plain_markdown(line)}" for line in lines))


def _is_long(repair: Repair) -> bool:
    return len(repair.changes) > MOST_CHANGES


def _label(repair: Repair) -> str:
    """All changes; of many only the rules that they are of."""
    if not _is_long(repair):
        return repair.sentence()
    titles = _titles(repair)
    return f"{len(repair.changes)} changes of {len(titles)} rules: {', '.join(titles)}"


def _titles(repair: Repair) -> list[str]:
    """The rules that give."""
    return list(dict.fromkeys(change.title for change in repair.changes))


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
