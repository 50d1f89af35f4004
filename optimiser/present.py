"""The week that a page speaks of, and the kept plan that is its present one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from optimiser.board import board_breaches
from optimiser.cafe import Cafe
from optimiser.document import Document, read_document
from optimiser.ground import Ground
from optimiser.larder_count import lots_between, stock_of
from optimiser.plan import Breach, Plan
from optimiser.plan_lots import Lots
from optimiser.replay import Replay
from optimiser.rules import default_rules
from optimiser.rules.base import Rule
from optimiser.store import KeptPlan, Store
from optimiser.verify import ask_rules, verify
from optimiser.week import Week, default_start
from optimiser.wellformed import malformed, unconnected


def week_of(cafe: Cafe, rules: Sequence[Rule], today: date) -> Week:
    """The cafe's own week, or the next; planned so many days ahead as its settings say.

    Raises ValueError if the cafe is closed on every day of it.
    """
    start = default_start(cafe, today)
    return Week(
        cafe=cafe,
        rules=default_rules(cafe, rules),
        start=start,
        planned_on=start - timedelta(days=cafe.plan_ahead_days),
    )


@dataclass(frozen=True)
class Present:
    """The latest kept plan of a week, judged by the tables as they are now.

    stale: it was planned on another revision of the tables, so its money may be out of date.
    breaches: what is wrong with it now; for a stale plan as `breaches_now` says.
    """

    plan: Plan
    number: int
    revision: int
    breaches: tuple[Breach, ...]
    stale: bool

    @property
    def holds(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.breaches


def present(store: Store, week: Week) -> Present | None:
    """The latest kept plan of `week`; None if there is none. Raises StoreFault."""
    head = store.head()
    kept = store.latest_plans(week.start, 1)
    if head is None or not kept:
        return None
    if kept[0].revision == head.id:
        return judged(kept[0], week, head.id)
    old, new = (store.document(number) for number in (kept[0].revision, head.id))
    return judged(kept[0], week, head.id, lots_since(old, read_document(old).cafe, new))


def lots_since(old: Document, cafe: Cafe, new: Document) -> Lots:
    """Where the lots of earlier tables, which `cafe` was read from, are now."""
    return Lots(cafe, lots_between(stock_of(old), stock_of(new)))


def judged(kept: KeptPlan, week: Week, revision: int, lots: Lots | None = None) -> Present:
    """A kept plan under the tables of `revision`, which `week` was made of. `lots`: where
    those of a stale plan are now; None: as it names them."""
    stale = kept.revision != revision
    breaches = breaches_now(kept.plan, week, lots) if stale else _verified(kept.plan, week)
    return Present(kept.plan, kept.id, kept.revision, breaches, stale)


def _verified(plan: Plan, week: Week) -> tuple[Breach, ...]:
    return verify(plan, same_days(plan, week)).breaches


def same_days(plan: Plan, week: Week) -> Week:
    """`week` with the days and the day of planning that a plan of it was made for."""
    return replace(week, days=plan.days, planned_on=plan.planned_on)


def breaches_now(plan: Plan, week: Week, lots: Lots | None = None) -> tuple[Breach, ...]:
    """What speaks against a plan made on other tables: things it names that are gone, places,
    orders and food that no longer work out, hard rules that it breaks. Its money is not asked."""
    if lots is not None:
        if missing := lots.missing(plan):
            return tuple(missing)
        plan = lots.renamed(plan)
    week = same_days(plan, week)
    ground = Ground(week)
    gone = malformed(plan, ground) or unconnected(plan, ground)
    if gone:
        return tuple(gone)
    food = Replay(plan, ground).run().breaches
    return (*board_breaches(plan, ground), *food, *ask_rules(plan, week).broken)
