"""The same model, read by solvers that share no code with the one in the product.

CBC gets the rows through PuLP's own file writer; it comes with PuLP 3.3 but not
with PuLP 4. scipy's `milp` is HiGHS inside, but it is fed from plain arrays, so it
checks the way through PuLP and not the solver.
"""

from __future__ import annotations

from pathlib import Path

import highspy
import numpy as np
import pulp
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from optimiser.lp import Lp, to_pulp
from optimiser.model import Model
from optimiser.solver import Limits, Solver
from optimiser.week import Week
from tests.generated_cafes import FEATURES, weeks

HAS_CBC = "PULP_CBC_CMD" in pulp.listSolvers(onlyAvailable=True)
EACH = settings(
    max_examples=4,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)


def by_highs(lp: Lp) -> float | None:
    """Margin by the product's solver, None if infeasible."""
    solved = Solver(lp).solve(Limits(gap_cents=0.001))
    assert solved.infeasible or solved.bound - solved.margin <= 0.01
    return solved.margin


def by_cbc(lp: Lp) -> float | None:
    """Margin by CBC on PuLP's problem."""
    problem, _ = to_pulp(lp)
    problem.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=0, gapAbs=1e-4, threads=1))
    if problem.status == pulp.LpStatusInfeasible:
        return None
    assert problem.sol_status == pulp.LpSolutionOptimal
    return lp.constant - pulp.value(problem.objective)


def by_scipy(lp: Lp) -> float | None:
    """Margin by scipy's milp on the plain arrays of the model."""
    matrix = lil_array((len(lp.rows), len(lp.names)))
    for r, row in enumerate(lp.rows):
        for column, coefficient in row.terms.items():
            matrix[r, column] = coefficient
    low = [-np.inf if row.low is None else row.low for row in lp.rows]
    high = [np.inf if row.high is None else row.high for row in lp.rows]
    result = milp(
        -np.array(lp.gain),
        integrality=np.array(lp.integer, dtype=int),
        bounds=Bounds(lp.low, [np.inf if top is None else top for top in lp.high]),
        constraints=LinearConstraint(matrix.tocsr(), low, high),
        options={"mip_rel_gap": 0.0},
    )
    if result.status == 2:
        return None
    assert result.status == 0, result.message
    return float(lp.constant - result.fun)


def same(one: float | None, other: float | None) -> bool:
    """Both infeasible, or the same margin to the hundredth of a cent."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= 0.02


@pytest.mark.filterwarnings("ignore:PULP_CBC_CMD is deprecated:DeprecationWarning")
@pytest.mark.skipif(not HAS_CBC, reason="this PuLP brings no second solver (CBC came with PuLP 3)")
@pytest.mark.parametrize("feature", FEATURES)
@EACH
@given(data=st.data())
def test_cbc_finds_the_same_margin(feature: str, data: st.DataObject):
    lp = Model(data.draw(weeks(feature))).lp
    assert same(by_highs(lp), by_cbc(lp))


@pytest.mark.parametrize("feature", FEATURES)
@EACH
@given(data=st.data())
def test_plain_arrays_give_the_same_margin(feature: str, data: st.DataObject):
    lp = Model(data.draw(weeks(feature))).lp
    assert same(by_highs(lp), by_scipy(lp))


@EACH
@given(week=weeks("two_courses"))
def test_the_written_file_holds_the_whole_model(week: Week, tmp_path_factory):
    """Read back from MPS, all but the objective's constant (which PuLP drops) is there."""
    lp = Model(week).lp
    problem, _ = to_pulp(lp)
    path = Path(tmp_path_factory.mktemp("mps")) / "week.mps"
    problem.writeMPS(str(path))
    again = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", 1), ("mip_rel_gap", 0.0)):
        again.setOptionValue(option, value)
    assert again.readModel(str(path)) != highspy.HighsStatus.kError
    again.run()
    best = by_highs(lp)
    if best is None:
        assert again.getModelStatus() == highspy.HighsModelStatus.kInfeasible
    else:
        written = lp.constant - again.getInfo().objective_function_value
        assert written == pytest.approx(best, abs=0.02)
