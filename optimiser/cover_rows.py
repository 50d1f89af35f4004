"""When supplies of limited life can serve dated needs: the interval condition.

Supplies of one kind arrive on days d and live L days, [d, d+L-1]. A need falls
on day c and must stay good until e >= c, so it can be served by supplies with
    e-L+1 <= d <= c,
a window of consecutive supply days. Needs with windows of consecutive supply
days can all be served if and only if, for every pair of supply days a <= b,
    sum of needs whose window lies within [a, b]  <=  sum of supplies in [a, b].
(Hall's condition for convex graphs: a violated set of needs splits into parts
whose windows form one interval each; the hull of one part is violated too.)
No flow variables are needed.

The condition fails when lives differ, because a short-lived supply nested in a
long-lived one can sit in a gap between two needs. So stock lots, and pieces cut
from a whole about to spoil, get explicit flows, which are taken off the needs
before the intervals are checked. `tests/test_interval_condition.py` compares
all of it with explicit flow.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from optimiser.lp import Lp, Terms, scaled

Need = tuple[date, date]
"""(day of use, day until which it must stay good)."""


@dataclass
class Source:
    """A lot with a life of its own: up to `grams` (terms + constant), days first..last."""

    lot: str
    first: date
    last: date
    constant_g: float = 0.0
    terms: Terms = field(default_factory=list)

    def can_serve(self, need: Need) -> bool:
        """Whether the lot is there on the day of use and good until the end."""
        return self.first <= need[0] and need[1] <= self.last


@dataclass
class Cover:
    """Needs of one item, supplies of one life, and lots with lives of their own."""

    item: str
    life_days: int
    needs: dict[Need, Terms] = field(default_factory=dict)
    supplies: dict[date, tuple[Terms, float]] = field(default_factory=dict)
    sources: list[Source] = field(default_factory=list)
    left: Need | None = None
    """The need that stands for what is still good after the week, if there is one."""
    drawn: dict[str, Terms] = field(default_factory=dict)
    """After `add_rows`: what each source gives to cooks."""

    def supply(self, day: date, terms: Terms, constant_g: float = 0.0) -> None:
        """Grams that begin their life on `day`."""
        old_terms, old_constant = self.supplies.get(day, ([], 0.0))
        self.supplies[day] = (old_terms + terms, old_constant + constant_g)

    def need(self, need: Need, terms: Terms) -> None:
        """Grams needed on need[0], good until need[1]."""
        self.needs.setdefault(need, []).extend(terms)

    def add_rows(self, lp: Lp) -> None:
        """Write the flows of the sources and the interval rows."""
        residual = self._add_flows(lp)
        days = sorted(self.supplies)
        windows: list[tuple[int, int, Terms]] = []
        for need, terms in residual.items():
            start = need[1] - timedelta(days=min(self.life_days, 100_000) - 1)
            inside = [n for n, day in enumerate(days) if start <= day <= need[0]]
            if inside:
                windows.append((inside[0], inside[-1], terms))
            else:
                lp.row(f"no_supply__{self.item}__{_tag(need)}", terms, high=0.0)
        for a in sorted({low for low, _, _ in windows}):
            for b in sorted({high for _, high, _ in windows}):
                within = [terms for low, high, terms in windows if low >= a and high <= b]
                if a <= b and within:
                    self._interval_row(lp, days, a, b, within)

    def _interval_row(
        self, lp: Lp, days: list[date], a: int, b: int, within: list[Terms]
    ) -> None:
        terms = [term for part in within for term in part]
        constant = 0.0
        for day in days[a : b + 1]:
            supply, fixed = self.supplies[day]
            terms = terms + scaled(supply, -1.0)
            constant += fixed
        lp.row(f"cover__{self.item}__{days[a]:%m%d}_{days[b]:%m%d}", terms, high=constant)

    def _add_flows(self, lp: Lp) -> dict[Need, Terms]:
        """Flows from each source to each need it can serve; what is left of the needs."""
        residual = {need: list(terms) for need, terms in self.needs.items()}
        flows: dict[Need, Terms] = {}
        for source in self.sources:
            given: Terms = []
            used: Terms = []
            for need in self.needs:
                if source.can_serve(need):
                    flow = lp.column(f"from__{source.lot}__{self.item}__{_tag(need)}")
                    given.append((flow, 1.0))
                    used += [(flow, 1.0)] if need != self.left else []
                    flows.setdefault(need, []).append((flow, 1.0))
            self.drawn[source.lot] = used
            if given:
                lp.row(
                    f"lot__{source.lot}__{self.item}",
                    given + scaled(source.terms, -1.0),
                    high=source.constant_g,
                )
        for need, terms in flows.items():
            residual[need] = residual[need] + scaled(terms, -1.0)
            lp.row(f"not_over__{self.item}__{_tag(need)}", scaled(residual[need], -1.0), high=0.0)
        return residual

    def total_need(self) -> Terms:
        """All needs of the horizon."""
        return [term for terms in self.needs.values() for term in terms]


def _tag(need: Need) -> str:
    return f"{need[0]:%m%d}_{need[1]:%m%d}"
