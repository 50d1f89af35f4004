"""Lot sizing and the newsvendor once more, by stockpyl itself where it is installed.

stockpyl brings some sixty packages with it, so it is no part of the test extra; without
it the figures it gave stand in `test_optimisation_figures.py`.
"""

from __future__ import annotations

import pytest

from optimiser.cafe import Cover
from tests.outside.lots import best_week, lot_sizing, newsvendor_week

newsvendor = pytest.importorskip("stockpyl.newsvendor")
wagner_whitin = pytest.importorskip("stockpyl.wagner_whitin")

TOPIC, LIVE = "optimum", "stockpyl, run now"


@pytest.mark.parametrize(
    ("demands", "fee", "hold"),
    [([40, 10, 70, 20, 55], 130, 1), ([25, 60, 5, 35, 80, 15], 210, 2)],
)
def test_lot_sizing_of_our_own_numbers(main_job, demands, fee, hold):
    _, theirs, *_ = wagner_whitin.wagner_whitin(len(demands), hold, fee, demands)
    ours, found = lot_sizing(demands, [fee] * len(demands), hold)
    figure = f"{len(demands)} periods, least cost"
    main_job(found.plan, TOPIC, LIVE, figure, float(theirs), ours, within=0.05)


def test_a_newsvendor_of_our_own_numbers(main_job):
    chances = {2: 0.25, 5: 0.35, 6: 0.2, 9: 0.2}
    theirs, _ = newsvendor.newsvendor_discrete(2, 4, demand_pmf=chances)
    cover = Cover(expected=5, low=2, high=9, chances=tuple(chances.items()))
    _, found = best_week(newsvendor_week(cover, 6, 2))
    ours = sum(cook.portions for cook in found.plan.cooks)
    main_job(found.plan, TOPIC, LIVE, "newsvendor, quantity", float(theirs), ours)
