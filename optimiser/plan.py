"""A finished week in plain numbers, and its file `plan.json`.

Lots are named so that a person can find them:
    stock-7                                  row 7 of stock.csv
    bought-<date>-<supplier>-<ingredient>    delivered that day
    opened-<date>-<lot>                      pieces of that lot cut or opened that day
    cooked-<date>-<dish>                     a component cooked that day
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

SCHEMA = 1

Day = date
"""Another name for `date`, for rows that have a field of that name."""


class Record(BaseModel):
    """Base of every row of a plan."""

    model_config = ConfigDict(frozen=True)


class Cook(Record):
    """`portions` of a dish cooked on `date`; `shown` the days it is sold."""

    date: date
    dish: str
    portions: int
    shown: tuple[Day, ...] = ()


class Shown(Record):
    """A dish in the cabinet on a day. `portions` is that day's share of the cook.

    `place` is its place in the row of its course, 1 to n from the left; 0 in files
    written before there were places.
    """

    date: date
    course: str
    dish: str
    portions: int
    cooked_on: Day
    place: int = 0


class Buy(Record):
    """Whole packs of one offer for one delivery."""

    deliver_on: date
    supplier: str
    ingredient: str
    packs: int
    pack_qty: float
    pack_unit: str
    cost_cents: int


class Open(Record):
    """Whole pieces of `lot` cut or opened on `date`."""

    date: date
    ingredient: str
    units: int
    lot: str


class Use(Record):
    """Grams of `item` that the cook of `dish` on `date` takes from `lot`.

    As purchased for ingredients, finished for cooked components.
    """

    date: date
    dish: str
    item: str
    grams: float
    lot: str


class Stretch(Record):
    """`more_g` more (negative: less) of `item` than the recipe says, in the flexible
    lines of the cook of `dish` on `date`. As purchased; finished for cooked parts."""

    date: date
    dish: str
    item: str
    more_g: float


class Left(Record):
    """What is still good on the first open day after the week."""

    item: str
    grams: float
    use_by: date | None
    value_cents: int
    lot: str = ""


class Binned(Record):
    """Food past its life on `date`; for dishes, portions expected to be unsold."""

    date: date
    item: str
    grams: float
    cost_cents: int
    lot: str = ""


class RuleResult(Record):
    """How one rule fared. `slack` is how far it is from its limit (negative: broken)."""

    kind: str
    title: str
    holds: bool
    slack: float | None = None


class Breach(Record):
    """A rule or a fact of life that a plan breaks, named in full."""

    rule: str
    text: str
    amount: float = 1.0
    day: date | None = None
    item: str | None = None


TERMS = (
    "takings",
    "purchases",
    "delivery_fees",
    "waste",
    "left_value",
    "rule_breaches",
    "appeal",
)
"""Names of the money terms; costs are negative, so that they sum to the objective."""


class Plan(Record):
    """A week: what is cooked, shown, bought, opened, used, left and binned.

    `objective_cents` is the margin, higher is better; `bound_cents` is None when
    no bound has been proven.
    """

    week: date
    days: int = 7
    planned_on: date
    currency: str
    status: Literal["optimal", "feasible"] = "feasible"
    verified: bool = False
    objective_cents: int
    bound_cents: int | None = None
    terms_cents: dict[str, int]
    cooks: tuple[Cook, ...]
    shown: tuple[Shown, ...]
    buys: tuple[Buy, ...] = ()
    opens: tuple[Open, ...] = ()
    uses: tuple[Use, ...] = ()
    stretched: tuple[Stretch, ...] = ()
    left: tuple[Left, ...] = ()
    binned: tuple[Binned, ...] = ()
    rules: tuple[RuleResult, ...] = ()

    @property
    def gap_cents(self) -> int | None:
        """How much more any week could earn at most; None while unproven."""
        if self.bound_cents is None:
            return None
        return max(0, self.bound_cents - self.objective_cents)

    def dishes_on(self, day: date, course: str | None = None) -> list[str]:
        """Ids of the dishes shown on `day`, of one course or of all."""
        return [
            row.dish
            for row in self.shown
            if row.date == day and (course is None or row.course == course)
        ]

    def to_json(self) -> str:
        """The text of plan.json."""
        body: dict[str, Any] = {"schema": SCHEMA, **self.model_dump(mode="json")}
        body["gap_cents"] = self.gap_cents
        return json.dumps(body, indent=1, ensure_ascii=False) + "\n"


def read_plan(path: Path) -> Plan:
    """Read plan.json. Raises ValueError (one sentence) if it is not one."""
    try:
        body = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
        raise ValueError(f"{path.name}: cannot be read as a plan: {error}") from error
    if not isinstance(body, dict) or body.get("schema") != SCHEMA:
        raise ValueError(f"{path.name}: not a plan of schema {SCHEMA}; make it again with `plan`")
    body.pop("schema")
    body.pop("gap_cents", None)
    return Plan.model_validate(body)
