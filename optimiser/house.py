"""The settings of a house: places in the cabinet, kitchen minutes, money weights.

Also the base of every fact. `optimiser.cafe` offers these names too.
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict, Field

LASTING_DAYS = 14
"""Loose things that keep at least this long keep most of their value for next week."""


class Fact(BaseModel):
    """Base of every fact: frozen, and closed to unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Course(Fact):
    """Places in the cabinet for one kind of dish, and how guests take them."""

    slots: int = Field(ge=0)
    price_cents: int = Field(ge=0)
    take_up: float = Field(ge=0)
    portion_g: float = Field(gt=0)


class Kitchen(Fact):
    """Minutes available by weekday (Monday first); None: no limit."""

    hands_on_min: tuple[float, ...] | None = None
    oven_min: tuple[float, ...] | None = None
    hob_min: tuple[float, ...] | None = None
    processor_min: tuple[float, ...] | None = None
    cook_ahead_days: int = Field(default=0, ge=0, le=6)


class Money(Fact):
    """What a chef may argue with: the weights of the objective.

    Left values are percent of the ingredient's cost today: `dry` also for tins,
    `whole` for uncut fresh pieces, `lasting` for loose things that keep LASTING_DAYS
    or more (onions, roots), `loose` for other fresh things. Opened pieces and cooked
    parts left over are worth nothing.
    """

    waste_cost_pct: float = Field(default=100.0, ge=0, le=1000)
    disposal_cents_per_kg: float = Field(default=20.0, ge=0, le=100_000)
    left_whole_pct: float = Field(default=80.0, ge=0, le=95)
    left_loose_pct: float = Field(default=30.0, ge=0, le=95)
    left_lasting_pct: float = Field(default=70.0, ge=0, le=95)
    left_dry_pct: float = Field(default=95.0, ge=0, le=99)
    appeal_cents: float = Field(default=200.0, ge=0, le=100_000)
    extra_portion_steps: int = Field(default=0, ge=0, le=200)
