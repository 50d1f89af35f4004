"""Exchanges put together are menus that can be, none better than the best so near."""

from __future__ import annotations

import pytest

from optimiser.near import Ask
from optimiser.together import together
from optimiser.verify import verify
from optimiser.week import Week
from tests.generated_cafes import weeks
from tests.near_cafes import CENTS, each
from tests.test_ranked import nearby


@pytest.mark.parametrize("feature", ["whole", "two_packs", "minimum", "rules", "ahead"])
def test_a_menu_of_several_exchanges_is_one_that_can_be(feature: str) -> None:
    def check(week: Week) -> int:
        near = nearby(week)
        if near is None:
            return 0
        alone, several = list(near.changes()), 0
        everything = tuple(near.model.runs)
        for leaving in (1, 2, 3):
            found = together(near, alone, alone, leaving)
            if found is None:
                continue
            assert len(found.leaves) <= leaving
            assert not set(found.leaves) & set(found.enters)
            assert verify(near.plan_of(found), week).passed
            best = near.few_changes(Ask(leaving, everything))
            assert best is not None and found.margin_cents <= best.margin_cents + CENTS
            several += len(found.enters) > 1
        return several

    assert sum(each(weeks(feature), 6, check)) > 0


def test_a_menu_has_one_of_those_that_were_to_come_first() -> None:
    def check(week: Week) -> int:
        near = nearby(week)
        if near is None:
            return 0
        alone = list(near.changes())
        for change in alone[:4]:
            found = together(near, [change], alone, 3)
            assert found is None or change.exchange.enters in found.enters
        return len(alone)

    assert sum(each(weeks("whole"), 4, check)) > 0
