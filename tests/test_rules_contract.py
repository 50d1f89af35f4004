"""What every kind of rule owes: words, units, limits, a source, cases of all four sorts.

`lacks` lists what a class does not deliver; the classes that ship lack nothing, and a
toy that delivers everything is spoilt in one way after the other to see each one named.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import pytest
from hypothesis import strategies as st
from pydantic import Field, ValidationError

from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules import RULE_CLASSES, Rule, parse_rule
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows
from optimiser.rules.catalogue import COUNTS, RATIOS, SHARED, UNITS, parameters, sentence
from tests.rule_cases import BOARDS, PARAMETERS, SOLVED
from tests.rule_cases.base import LENTILS_MON, Case, plan

SHORTEST_SOURCE = 20
"""Letters that a published source takes at least: who, what, where in it."""

TRIED_ELSEWHERE = {("use_up", "lot"): "test_stock_rules.py"}
"""Parameters without a case, and the file that tries them."""


@dataclass(frozen=True)
class Evidence:
    """What stands beside a class: its cases, all kinds there are, what reads a rule."""

    solved: list[Case]
    random: dict[str, Any]
    boards: list[dict[str, Any]]
    kinds: list[str]
    read: Callable[[dict[str, Any]], Rule] = parse_rule


def kind_of(rule: type[Rule]) -> str:
    return str(rule.model_fields["kind"].default)


def evidence_of(rule: type[Rule]) -> Evidence:
    kind = kind_of(rule)
    return Evidence(
        solved=SOLVED.get(kind, []),
        random=PARAMETERS.get(kind, {}),
        boards=[board for board in BOARDS if board["kind"] == kind],
        kinds=[kind_of(one) for one in RULE_CLASSES],
    )


def lacks(rule: type[Rule], evidence: Evidence) -> list[str]:
    """What a rule class fails to deliver, in words; empty if nothing."""
    return [
        *_lacking_words(rule),
        *_lacking_in_parameters(rule),
        *_lacking_shape(rule, evidence),
        *_lacking_cases(rule, evidence),
        *(lack for case in evidence.solved for lack in _lacking_in_case(case, evidence)),
    ]


def _lacking_words(rule: type[Rule]) -> list[str]:
    doc = vars(rule).get("__doc__") or ""
    source = getattr(rule, "source", "")
    tests = {
        "a title": getattr(rule, "title", ""),
        "a unit of breach": getattr(rule, "unit", ""),
        "a source": source == HOUSE_RULE or len(source) > SHORTEST_SOURCE,
        "a week that keeps it": getattr(rule, "kept", ""),
        "a week that breaks it, by a number": re.search(
            r".: broken by [0-9.]*[0-9]$", getattr(rule, "broken", "")
        ),
        "a docstring that starts with a sentence": re.match(r"[A-Z].*\w\.$", sentence(rule)),
        "an inequality in its docstring": any(sign in doc for sign in "≤≥"),
    }
    return [what for what, there in tests.items() if not there]


def _lacking_in_parameters(rule: type[Rule]) -> list[str]:
    found = []
    for one in parameters(rule):
        if not one.description:
            found.append(f"a description of {one.name}")
        if one.number and one.limits.low is None:
            found.append(f"a low limit of {one.name}")
        if one.number and one.limits.high is None:
            found.append(f"a high limit of {one.name}")
        if one.unit is None:
            found.append(f"a unit or a plural noun at the end of {one.name}")
    return found


def _lacking_shape(rule: type[Rule], evidence: Evidence) -> list[str]:
    kind = kind_of(rule)
    config = rule.model_config
    tests = {
        "to be frozen": config.get("frozen") is True,
        "to refuse unknown parameters": config.get("extra") == "forbid",
        "a kind in small letters": re.fullmatch("[a-z][a-z_]*[a-z]", kind),
        "a kind of its own": evidence.kinds.count(kind) == 1,
        "a kind that nothing else reads as": rule.model_fields["kind"].annotation == Literal[kind],
        "its own way to give": rule.concede is not Rule.concede,
        "all methods": not inspect.isabstract(rule),
    }
    return [what for what, there in tests.items() if not there]


def _lacking_cases(rule: type[Rule], evidence: Evidence) -> list[str]:
    asked = {name for name, field in rule.model_fields.items() if field.is_required()}
    own = set(rule.model_fields) - set(SHARED)
    tests = {
        "a hand-solved week": evidence.solved,
        "hand-solved weeks of its own": all(type(c.rule) is rule for c in evidence.solved),
        "random parameters": evidence.random.keys() >= asked and (evidence.random or not own),
        "random parameters that exist": evidence.random.keys() <= own,
        "settings for the small boards": evidence.boards,
    }
    found = [what for what, there in tests.items() if not there]
    tried = evidence.random.keys() | {name for board in evidence.boards for name in board}
    tried |= {name for case in evidence.solved for name in case.rule.model_fields_set}
    tried |= {name for kind, name in TRIED_ELSEWHERE if kind == kind_of(rule)}
    return [*found, *(f"any case with {name}" for name in sorted(own - tried))]


def _lacking_in_case(case: Case, evidence: Evidence) -> list[str]:
    said = case.rule.describe(case.cafe)
    found = []
    if not re.fullmatch(r"[A-Z0-9][^_\n]*\w[%)]?\.", said) or re.search(r"\w\. +[A-Z]", said):
        found.append(f"one plain sentence: {said!r}")
    for price_cents in (None, 250.0):
        settings = {**case.rule.model_dump(), "price_cents": price_cents}
        try:
            read = evidence.read(settings)
        except ValidationError:
            found.append("a rule with a price" if price_cents else "a rule without a price")
        else:
            assert read.model_dump() == settings
    return found


# -- the rules that ship --------------------------------------------------


@pytest.mark.parametrize("rule", RULE_CLASSES, ids=kind_of)
def test_a_rule_delivers_all_it_owes(rule: type[Rule]) -> None:
    assert lacks(rule, evidence_of(rule)) == []


def test_no_case_belongs_to_a_kind_that_is_not_there() -> None:
    kinds = {kind_of(rule) for rule in RULE_CLASSES}
    assert set(SOLVED) == set(PARAMETERS) == {board["kind"] for board in BOARDS} == kinds


def test_no_name_is_both_a_unit_and_a_count() -> None:
    assert len({*COUNTS, *UNITS, *RATIOS}) == len(COUNTS) + len(UNITS) + len(RATIOS)
    assert all(noun.endswith("s") for noun in COUNTS)


@pytest.mark.parametrize(("kind", "parameter"), TRIED_ELSEWHERE)
def test_what_has_no_case_is_tried_in_the_file_named(kind: str, parameter: str) -> None:
    file = Path(__file__).with_name(TRIED_ELSEWHERE[kind, parameter])
    assert re.search(f'"kind": "{kind}".*"{parameter}": ', file.read_text(encoding="utf-8"))


# -- a toy, whole and spoilt ----------------------------------------------


class Toy(Rule):
    """Few dishes are shown in all.

    Σ shown ≤ dishes
    """

    kind: Literal["toy"] = "toy"
    title, unit, source = "Toy", "showing", HOUSE_RULE
    kept, broken = "one dish", "two dishes: broken by 1"
    dishes: int = Field(default=1, ge=1, le=9, description="dishes in all, at most")

    def describe(self, cafe: Cafe) -> str:
        return f"{cafe.name} shows at most {self.dishes} dishes."

    def add_to(self, model: Rows) -> None:
        model.at_most(self, "week", model.run_terms((run, 1.0) for run in model.runs), self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        over = len(plan.cooks) - self.dishes
        return [self.breach(f"{over} cooks too many this week", over)] if over > 0 else []

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [("show more", None)]


class Wordless(Rule):
    """Says nothing, gives nothing, is not even a rule: 1 ≤ 2."""

    kind: Literal["toy"] = "toy"


class TwoKinds(Toy):
    """Is read as two kinds: 1 ≤ 2."""

    kind: Literal["toy", "other"] = "toy"  # type: ignore[assignment]


class Priceless(Toy):
    """Takes no price: 1 ≤ 2."""

    price_cents: None = Field(default=None, description="none")


class Obstinate(Toy):
    """Never gives in words of its own: 1 ≤ 2."""

    concede = Rule.concede


class Thawed(Toy, frozen=False):
    """Can be changed: 1 ≤ 2."""


class Open(Toy, extra="ignore"):
    """Takes any parameter: 1 ≤ 2."""


def saying(words: str) -> type[Rule]:
    """The toy with another sentence."""
    body = {"__doc__": Toy.__doc__, "describe": lambda self, cafe: words}
    return type("Saying", (Toy,), {**body, "__module__": __name__})


def with_class(**body: Any) -> type[Rule]:
    """The toy with other words on the class."""
    return type("Spoilt", (Toy,), {"__doc__": Toy.__doc__, **body, "__module__": __name__})


def with_parameter(name: str, annotation: Any = int, **field: Any) -> type[Rule]:
    """The toy with one parameter more."""
    body = {"__annotations__": {name: annotation}, name: Field(default=2, **field)}
    return with_class(**body)


def toys(rule: type[Rule], **changes: Any) -> Evidence:
    """Everything that should stand beside a toy."""
    try:
        solved = [Case(rule(), plan(), plan(LENTILS_MON), [1])]
    except TypeError:  # it cannot even be built
        solved = []
    tried = {name: st.integers(1, 3) for name in rule.model_fields if name not in SHARED}
    board = {"kind": "toy", **dict.fromkeys(tried, 2)}
    whole = Evidence(solved, tried, [board], ["toy", "spacing"], rule.model_validate)
    return replace(whole, **changes)


def test_a_toy_that_delivers_everything_lacks_nothing() -> None:
    assert lacks(Toy, toys(Toy)) == []
    more = with_parameter("rest_days", ge=1, le=7, description="days of rest, at least")
    assert lacks(more, toys(more)) == []


LIMITED = {"ge": 1, "le": 9, "description": "some"}
SPOILT: list[tuple[type[Rule], str]] = [
    (with_class(title=""), "a title"),
    (with_class(unit=""), "a unit of breach"),
    (with_class(source=""), "a source"),
    (with_class(source="from memory"), "a source"),
    (with_class(kept=""), "a week that keeps it"),
    (with_class(broken="two dishes"), "a week that breaks it, by a number"),
    (with_class(broken="two dishes: broken by"), "a week that breaks it, by a number"),
    (with_class(__doc__="1 ≤ 2"), "a docstring that starts with a sentence"),
    (with_class(__doc__="Toys are put away."), "an inequality in its docstring"),
    (with_parameter("days", ge=1, le=7), "a description of days"),
    (with_parameter("rest_days", le=7, description="some"), "a low limit of rest_days"),
    (with_parameter("rest_days", ge=1, description="some"), "a high limit of rest_days"),
    (with_parameter("salt_g", float | None, gt=0, description="g"), "a high limit of salt_g"),
    (with_parameter("size", **LIMITED), "a unit or a plural noun at the end of size"),
    (with_parameter("dish", **LIMITED), "a unit or a plural noun at the end of dish"),
    (Thawed, "to be frozen"),
    (Open, "to refuse unknown parameters"),
    (TwoKinds, "a kind that nothing else reads as"),
    (Obstinate, "its own way to give"),
    (Priceless, "a rule with a price"),
    (saying("toys are put away."), "one plain sentence: 'toys are put away.'"),
    (saying("Toys are put away"), "one plain sentence: 'Toys are put away'"),
    (saying("A toy_box is shut."), "one plain sentence: 'A toy_box is shut.'"),
    (saying("Toys go. Boxes too."), "one plain sentence: 'Toys go. Boxes too.'"),
    (saying(""), "one plain sentence: ''"),
]


@pytest.mark.parametrize(("rule", "reason"), SPOILT, ids=lambda v: v if isinstance(v, str) else "")
def test_a_toy_spoilt_in_one_way_is_refused_for_it(rule: type[Rule], reason: str) -> None:
    assert lacks(rule, toys(rule)) == [reason]


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"solved": []}, "a hand-solved week"),
        ({"random": {}}, "random parameters"),
        ({"random": {"dices": st.integers(1, 2)}}, "random parameters that exist"),
        ({"boards": []}, "settings for the small boards"),
        ({"kinds": ["toy", "toy"]}, "a kind of its own"),
        ({"kinds": ["spacing"]}, "a kind of its own"),
        ({"random": {}, "boards": [{"kind": "toy"}]}, "any case with dishes"),
        ({"read": parse_rule}, "a rule without a price"),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
def test_a_toy_without_its_cases_is_refused(changes: dict[str, Any], reason: str) -> None:
    found = lacks(Toy, toys(Toy, **changes))
    assert reason in found


def test_cases_of_another_rule_do_not_count() -> None:
    other = next(cases for kind, cases in SOLVED.items() if kind == "spacing")
    assert "hand-solved weeks of its own" in lacks(Toy, toys(Toy, solved=other))


def test_a_rule_without_anything_lacks_everything() -> None:
    assert "a docstring that starts with a sentence" in lacks(with_class(__doc__=None), toys(Toy))
    found = lacks(Wordless, toys(Wordless))
    for reason in ("a title", "a source", "all methods", "its own way to give"):
        assert reason in found
