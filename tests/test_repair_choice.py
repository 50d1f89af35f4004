"""Which repairs are told: cheapest first, none that only adds to another."""

from __future__ import annotations

from optimiser.repair_choice import Found, Repair, chosen
from optimiser.repair_words import Change
from tests.small_cafe import small_plan

PLAN = small_plan()
HOB, OVEN, CAP = 0, 1, 2


def found(**pct_of: float) -> tuple[frozenset[tuple[int, str]], Found]:
    """A repair in which rules give so many percent, by name."""
    by_part = {{"hob": HOB, "oven": OVEN, "cap": CAP}[name]: pct for name, pct in pct_of.items()}
    changes = tuple(
        Change(part, "kind", f"Rule {part}", f"{pct:g} more", ()) for part, pct in by_part.items()
    )
    atoms = frozenset((part, "") for part in by_part)
    return atoms, Found(Repair(changes, sum(by_part.values()), False, PLAN), by_part)


def told(*several: tuple[frozenset[tuple[int, str]], Found], least_pct: float = -1.0) -> list[str]:
    return [one.sentence() for one in chosen(dict(several), least_pct, 3)]


def test_cheapest_first() -> None:
    assert told(found(oven=30), found(hob=20)) == ["Rule 0: 20 more", "Rule 1: 30 more"]


def test_one_more_rule_that_spares_nothing_is_not_told() -> None:
    assert told(found(hob=20), found(hob=20, cap=50)) == ["Rule 0: 20 more"]
    assert told(found(hob=20), found(hob=19, cap=50)) == ["Rule 0: 20 more"]


def test_one_more_rule_that_spares_a_tenth_is_told() -> None:
    several = told(found(hob=20), found(hob=17, cap=50))
    assert several == ["Rule 0: 20 more", "Rule 0: 17 more; Rule 2: 50 more"]


def test_one_that_spares_little_is_told_if_it_is_cheaper_and_others_are_few() -> None:
    little = found(hob=20), found(hob=19, cap=0.5)
    assert told(*little) == ["Rule 0: 19 more; Rule 2: 0.5 more", "Rule 0: 20 more"]
    enough = told(*little, found(oven=30), found(cap=40))
    assert enough == ["Rule 0: 20 more", "Rule 1: 30 more", "Rule 2: 40 more"]


def test_least_only_where_proven() -> None:
    several = dict([found(hob=20), found(oven=30)])
    assert [one.least for one in chosen(several, 20.0, 3)] == [True, False]
    assert [one.least for one in chosen(several, -1.0, 3)] == [False, False]
