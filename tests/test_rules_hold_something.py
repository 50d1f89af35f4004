"""A rule that could never bind in a cafe says so as a fault; none holds nothing in silence."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from optimiser.cafe import Cafe, Ingredient
from optimiser.model import Model
from optimiser.rules import Rule, parse_rule
from optimiser.week import Week
from tests.rule_cases import FAULTS, SOLVED
from tests.rule_weeks import MON
from tests.test_explain import cafe

OF_THE_COUNT = {"use_up", "weeks_since"}
"""What is in stock and was served lately differs from week to week: no fault of the rule."""

SAYS_SO = {"station_minutes"}
"""Its sentence says that there is no limit."""

ROOMY = {"cooks_daily", "opened_over_closed", "closed_day_life", "oven_settings"}
"""Row by row these ask what can be at all: of one day's dishes, or of weeks with a closed day."""

NO_COST = {"portion_cost_cap", "plate_cost_cap", "portion_margin"}
"""In a cafe whose food costs nothing no dish costs too much."""


def changed(**changes: Any) -> Cafe:
    base = cafe()
    return Cafe(**{name: getattr(base, name) for name in Cafe.model_fields} | changes)


def blank() -> Cafe:
    """The cafe with names, forms and lives only: no colour, nutrient, label, month or word."""
    base = cafe()
    plain = {
        one.id: Ingredient(
            id=one.id, name=one.name, form=one.form, piece_g=one.piece_g, keeps_days=one.keeps_days
        )
        for one in base.ingredients.values()
    }
    words = {"cuisine": "", "method": "", "texture": "", "oven_c": None}
    dishes = {one.id: one.model_copy(update=words) for one in base.dishes.values()}
    return changed(ingredients=plain, dishes=dishes)


ODD: dict[str, Cafe] = {
    "as it is": cafe(),
    "nothing filled in": blank(),
    "open every day": changed(open_days=frozenset(range(7))),
    "no plate": changed(plate={}),
    "an empty plate": changed(plate={"salad": 0, "main": 0}),
    "no offers": changed(offers=()),
    "no suppliers": changed(offers=(), suppliers={}),
    "no guests": changed(covers={}),
    "no dishes": changed(dishes={}),
    "no ingredients": changed(dishes={}, ingredients={}, offers=()),
}
RULES: list[Rule] = [
    *(case.rule for cases in SOLVED.values() for case in cases),
    *(rule for rule, _ in FAULTS),
]


@pytest.mark.parametrize("this", ODD.values(), ids=ODD)
def test_faults_and_rows_never_raise_and_sentences_are_sentences(this: Cafe) -> None:
    for rule in RULES:
        if rule.faults(this):
            continue
        sentence = rule.describe(this)
        assert sentence[0].isupper() and sentence.endswith(".") and "_" not in sentence
        week = Week(this, (rule,), MON, MON - timedelta(days=3), 3)
        assert rule.share(week) > 0
        Model(week)


@pytest.mark.parametrize("name", ["as it is", "nothing filled in", "open every day", "no plate"])
def test_a_rule_without_faults_writes_rows(name: str) -> None:
    this = ODD[name]
    silent = set()
    for rule in RULES:
        if not rule.faults(this):
            model = Model(Week(this, (rule,), MON, MON - timedelta(days=3), 3))
            if not any(row.name.startswith("r0_") for row in model.lp.rows):
                silent.add(rule.kind)
    assert silent <= OF_THE_COUNT | SAYS_SO | ROOMY | NO_COST


@pytest.mark.parametrize(
    ("settings", "this", "words"),
    [
        ({"kind": "in_season"}, blank(), "no ingredient has months"),
        ({"kind": "main_colour_cap"}, blank(), "no dish has a colour"),
        ({"kind": "neighbours"}, blank(), "no dish has a colour"),
        ({"kind": "cuisine_cap"}, blank(), "no dish has a cuisine"),
        ({"kind": "method_cap"}, blank(), "no dish has a method"),
        ({"kind": "closed_day_life", "spare_days": 1}, ODD["open every day"], "never closed"),
    ],
    ids=lambda one: one["kind"] if isinstance(one, dict) else "",
)
def test_what_is_not_filled_in_is_named(settings: dict[str, Any], this: Cafe, words: str) -> None:
    rule = parse_rule(settings)
    (fault,) = rule.faults(this)
    assert words in fault
    assert rule.faults(cafe()) == []
