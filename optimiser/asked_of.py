"""From a place and questions to an exit code: find the plan, ask, hand the answers over."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable

from optimiser.answer import Answer
from optimiser.answer_rules import can_ask_answer, conflict_answer
from optimiser.ask_run import STOPPING, Question, ask_all, hand_over, show
from optimiser.asking import Asking, Handing
from optimiser.background import stop_on_interrupt
from optimiser.base_plan import Base, asked_week, can_hold, handed_in, head, known_plan, new_plan
from optimiser.explain import Conflict, conflict
from optimiser.places import Held
from optimiser.plan import Plan
from optimiser.plan_command import NO_PLAN
from optimiser.planner import Outcome
from optimiser.watched import Said, watched
from optimiser.week import Week

__all__ = ["answered", "asked_week", "handed_in", "rules_hold"]

Ask = Callable[[Base, threading.Event], list[Question]]


def answered(
    verb: str, asking: Asking, held: Held, week: Week, earlier: Plan | None, ask: Ask,
    handing: Handing,
) -> int:  # fmt: skip
    """Answer what `ask` makes of the plan found; the exit code. Raises BadInput, StoreFault."""
    stop = threading.Event()
    with stop_on_interrupt(stop):
        base = known_plan(asking, held, week, earlier) or new_plan(asking, week, stop)
        if isinstance(base, Outcome):
            return _no_plan(verb, base, asking, week, stop, handing)
        questions = ask(base, stop)
        handing.print_line(f"{base.told}\n")
        answers = ask_all(questions, week.cafe.currency, stop, handing)
    return hand_over(answers, head(verb, base.week, base), [base.told, ""], handing)


def rules_hold(asking: Asking, week: Week, handing: Handing) -> int:
    """Whether the rules can hold together and, if so, what can be asked; the exit code."""
    found, stop = threading.Event(), threading.Event()
    with stop_on_interrupt(found):
        holds = can_hold(asking, week, found)
    if holds:
        answers = [conflict_answer(Conflict(holds=True, proven=True), week)]
        answers.append(can_ask_answer(week, asking.folder))
    elif found.is_set():
        print("It was not found out whether a week can keep all rules: stopped.", file=sys.stderr)
        return NO_PLAN
    else:
        answers = [conflict_of(week, asking.seconds, stop)]
    if handing.at_once:
        for answer in answers:
            show(answer)
    return hand_over(answers, head("explain", week, None), [], handing)


def conflict_of(week: Week, seconds: float, stop: threading.Event) -> Answer:
    """Whether the rules of a week can hold together, watched on stderr."""
    said = Said("Looking whether the rules can hold together ...", STOPPING)
    return watched(
        lambda report: conflict_answer(conflict(week, seconds, report, stop), week),
        stop,
        week.cafe.currency,
        said,
    )


def _no_plan(
    verb: str, outcome: Outcome, asking: Asking, week: Week, stop: threading.Event, handing: Handing
) -> int:
    """Say why there is no plan to ask about; if the rules cannot hold, which."""
    if outcome.infeasible:
        answer = conflict_of(week, asking.seconds, stop)
        if handing.at_once:
            show(answer)
        return hand_over([answer], head(verb, week, None), [], handing)
    if outcome.rejected:
        print(f"The verifier turned the plan down: {outcome.rejected[0].text}", file=sys.stderr)
    elif stop.is_set():
        print("Stopped while planning: nothing was asked yet.", file=sys.stderr)
    else:
        more = "give it more --seconds, or see with `explain` alone whether the rules can hold"
        print(f"No week was found in the time given; {more}.", file=sys.stderr)
    return NO_PLAN
