"""The README's section on the rules says what the rules are today."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import pytest
from pydantic import Field

from optimiser.rules import RULE_CLASSES, TOPICS, Rule
from optimiser.rules.base import HOUSE_RULE
from optimiser.rules.catalogue import entries, entry, markdown, parameters, unit_of
from optimiser.rules.pins import Pin, Signature
from optimiser.rules.protein import ProteinDishes
from optimiser.rules.spacing import Spacing
from tests.write_rules_section import END, README, START, with_rules


def test_the_readme_is_current() -> None:
    text = README.read_text(encoding="utf-8")
    assert text == with_rules(text), "run python -m tests.write_rules_section"


def test_an_old_section_is_replaced_and_the_rest_kept() -> None:
    new = with_rules(f"before\n{START}old words\n{END}after\n")
    assert new == f"before\n{START}{markdown()}{END}after\n"
    for spoilt in ("no markers\n", f"{END}{START}", START + START + END):
        with pytest.raises(ValueError, match="marker"):
            with_rules(spoilt)


def test_every_kind_is_there_once_under_its_topic() -> None:
    assert [one.kind for one in entries()] == [
        rule.model_fields["kind"].default for rule in RULE_CLASSES
    ]
    sections = {part.split("\n", 1)[0]: part for part in markdown().split("### ")[1:]}
    assert set(sections) == {topic for topic, rules in TOPICS.items() if rules}
    for one in entries():
        assert markdown().count(f"- **`{one.kind}`** ") == 1
        assert f"- **`{one.kind}`** {one.sentence} Unit: {one.unit}.\n" in sections[one.topic]
        for parameter in one.parameters:
            assert f"  - `{parameter.name}` (" in sections[one.topic]


def test_a_source_that_is_published_is_named_and_a_house_rule_is_not() -> None:
    for one in entries():
        assert (f"Source: {one.source.rstrip('.')}." in markdown()) == (one.source != HOUSE_RULE)


def test_parameters_are_read_with_type_unit_default_and_limits() -> None:
    gap = parameters(Spacing)[1]
    assert (gap.name, gap.type, gap.unit, gap.default) == ("gap_days", "whole number", "days", "2")
    assert (gap.limits.low, gap.limits.high, gap.limits.above) == (2, 28, False)
    once = parameters(Spacing)[2]
    assert (once.type, once.number, once.default) == ("yes or no", False, "no")
    protein = parameters(ProteinDishes)[2]
    assert protein.limits.words(protein.unit or "") == "above 0, up to 100 g"
    dish, day = parameters(Pin)
    assert (dish.default, dish.limits.words()) == ("required", "")
    assert (day.type, day.limits.words()) == ("date or choice", "`mon` to `sun`")
    days = parameters(Signature)[1]
    assert (days.type, days.limits.words()) == ("list of choice", "`mon` to `sun`; 1 to 7 of them")


def test_the_catalogue_reads_every_shape_of_a_parameter() -> None:
    class Toy(Rule):
        """Toys are put
        away.

        Σ toys ≤ 1
        """

        kind: Literal["toy"] = "toy"
        title, unit, source = "Toys", "toy", "The book of toys, page 7."
        kept, broken = "one toy", "two toys: broken by 1"
        months: tuple[Annotated[int, Field(ge=1, lt=13)], ...] = (1, 2)
        names: dict[str, Annotated[float, Field(ge=0, le=5)]] = Field(default_factory=dict)
        since: date | None = None
        name: str = Field(min_length=1)

    toy = entry(Toy, "Play")
    assert toy.sentence == "Toys are put away."
    months, names, since, name = toy.parameters
    assert months.type == "list of whole number" and months.default == "1, 2"
    assert months.limits.words(months.unit or "") == "from 1, below 13 months"
    assert names.type == "table of number by text" and names.limits.words() == "0 to 5"
    assert names.default == "none"
    assert (since.type, since.default) == ("date or blank", "blank")
    assert (name.default, name.limits.words()) == ("required", "")


@pytest.mark.parametrize(
    ("name", "unit"),
    [("protein_g", "g"), ("pct", "%"), ("l_per_kg", "l per kg"), ("dishes", ""), ("size", None)],
)
def test_the_name_of_a_number_says_its_unit(name: str, unit: str | None) -> None:
    assert unit_of(name) == unit
