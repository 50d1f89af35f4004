"""A plan kept before rows of the stock table went or came, judged by the table as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from optimiser.document import Document, parse_csv, read_document
from optimiser.plan_lots import Lots
from optimiser.planner import plan_week
from optimiser.present import Present, present, week_of
from optimiser.search import Effort
from optimiser.store import Store
from tests.cafe_folder import FILES
from tests.small_cafe import FARM_SQUASH, MON, small_cafe, small_plan
from tests.store_documents import document

TODAY = date(2026, 11, 25)
RENAMED = {"stock-1": "stock-4", "stock-2": "stock-1"}  # the carrots, stock-3, are gone


def test_lots_and_what_was_cut_from_them_have_their_new_names_and_nothing_else_changes():
    plan = Lots(small_cafe(), RENAMED).renamed(small_plan())
    assert [row.lot for row in plan.opens] == ["stock-1", FARM_SQUASH, FARM_SQUASH]
    assert plan.uses[0].lot == f"opened-{MON}-stock-1" and plan.uses[-1].lot == "stock-4"
    assert plan.uses[1:-1] == small_plan().uses[1:-1]
    assert "stock-3" not in [row.lot for row in plan.binned]
    assert len(plan.binned) == len(small_plan().binned) - 1


def test_a_lot_that_is_gone_matters_only_if_the_plan_takes_from_it():
    assert Lots(small_cafe(), RENAMED).missing(small_plan()) == []
    (missing,) = Lots(small_cafe(), {"stock-2": "stock-1"}).missing(small_plan())
    assert missing.item == "quinoa" and "no longer in stock" in missing.text
    (missing,) = Lots(small_cafe(), {"stock-1": "stock-1"}).missing(small_plan())
    assert missing.item == "squash"


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Store]:
    """A store with the bench cafe and a verified plan of its week."""
    with Store.open(tmp_path / "cabinet.db", create=True) as store:
        head = store.save(document(), "Ada", "The bench", None)
        reading = read_document(document())
        plan = plan_week(week_of(reading.cafe, reading.rules, TODAY), Effort(work=1)).plan
        assert plan is not None
        store.add_plan(plan, head.id)
        yield store


def after(store: Store, stock: str) -> Present:
    """The plan kept, after another stock.csv was saved."""
    old = store.document(1)
    new: Document = replace(old, tables={**old.tables, "stock.csv": parse_csv(stock)})
    store.save(new, "Ben", "Counted", 1)
    found = present(store, week_of(read_document(new).cafe, (), TODAY))
    assert found is not None and found.stale
    return found


def test_the_plan_takes_from_stock_or_the_next_tests_would_say_nothing(kept: Store):
    (plan,) = (one.plan for one in kept.plans())
    assert {"stock-1", "stock-2", "stock-3"} & {use.lot for use in plan.uses}


def test_rows_in_another_order_and_new_ones_do_not_harm_the_plan(kept: Store):
    head, *rows = FILES["stock"].splitlines(keepends=True)
    found = after(kept, "".join([head, "tofu,1,each,2026-12-20,whole\n", *reversed(rows)]))
    assert found.breaches == ()


def test_a_lot_that_the_plan_uses_and_that_is_gone_is_named(kept: Store):
    (plan,) = (one.plan for one in kept.plans())
    rows = FILES["stock"].splitlines(keepends=True)
    used = next(lot for lot in ("stock-1", "stock-2", "stock-3") if lot in
                {use.lot for use in plan.uses} | {cut.lot for cut in plan.opens})  # fmt: skip
    del rows[int(used.removeprefix("stock-"))]
    assert ["no longer in stock" in breach.text for breach in after(kept, "".join(rows)).breaches]
