"""Rules for guests who avoid something: what they say, and what cannot be promised."""

from __future__ import annotations

from typing import Any

import pytest

from optimiser.cafe import Cafe
from optimiser.rules import Rule
from optimiser.rules.diets import DietPlate, FreeOf
from tests.rule_weeks import MON, tiny_cafe, week_plan

RULES = (
    FreeOf(allergen="gluten"),
    FreeOf(allergen="tree_nuts", course="main"),
    FreeOf(allergen="sesame", dishes=2, course="salad"),
    DietPlate(),
    DietPlate(diets=("nut_free",)),
)


def labels(**allergens: frozenset[str] | None) -> Cafe:
    """The tiny cafe with other labels; None: nobody has read it."""
    shelf = tiny_cafe().ingredients
    changed = {
        item: shelf[item].model_copy(update={"allergens": names})
        for item, names in allergens.items()
    }
    return tiny_cafe(ingredients={**shelf, **changed})


@pytest.mark.parametrize("rule", RULES)
def test_no_sentence_says_free_and_every_one_warns_of_traces(rule: Rule) -> None:
    cafe = tiny_cafe()
    said = rule.describe(cafe)
    day = week_plan(cafe, [("quinoa_salad", MON, (MON,))])
    breaches = rule.check(day, cafe)
    told = [said, *(b.text for b in breaches), *(w for w, _ in rule.concede(day, cafe, breaches))]
    assert breaches and not any("free" in text.lower() for text in told)
    assert "traces from shared boards, fryers and air are not known here" in said
    assert "only labels that have been read count" in said


def test_what_labels_need_not_name_is_said() -> None:
    cafe = tiny_cafe()
    assert "need not name pine nut" in FreeOf(allergen="tree_nuts").describe(cafe)
    assert "need not name pine nut" in DietPlate().describe(cafe)
    assert "no tree nut ingredients" in FreeOf(allergen="tree_nuts").describe(cafe)
    assert "need not name mustard" in FreeOf(allergen="mustard").describe(cafe)
    assert "need not name" not in FreeOf(allergen="soy").describe(cafe)
    assert "need not name" not in DietPlate(diets=("vegan", "gluten_free")).describe(cafe)


def test_the_words_are_those_of_the_labels() -> None:
    said = DietPlate().describe(tiny_cafe())
    assert said.startswith(
        "Each day a guest can pick a plate of 1 salad dish and 1 main dish with vegan "
        "ingredients, or with no gluten ingredients, or with no nut or peanut ingredients; "
    )
    assert (
        FreeOf(allergen="brazil_nut")
        .describe(tiny_cafe())
        .startswith("Each day at least 1 dish of each course has no brazil nut ingredients; ")
    )


UNREAD: dict[str, Any] = {"tofu": None, "pumpkin": None, "kale": None}


@pytest.mark.parametrize(
    "rule", [FreeOf(allergen="gluten", course="main"), DietPlate(diets=("gluten_free",))]
)
def test_too_few_known_dishes_are_a_fault_that_counts_the_labels_to_read(rule: Rule) -> None:
    assert rule.faults(tiny_cafe()) == []
    # tofu, pumpkin, quinoa in the grain bake and kale in the soup
    assert rule.faults(labels(**UNREAD))[0] == (
        "1 asked for, but no main dish is known to have no gluten ingredients; "
        "4 labels of these dishes not read yet"
    )


def test_a_plate_that_labels_rule_out_is_a_fault_without_labels_to_read() -> None:
    wheat = frozenset({"wheat"})
    (fault,) = DietPlate(diets=("vegan", "gluten_free")).faults(
        labels(tofu=wheat, pumpkin=wheat, quinoa=wheat, kale=wheat)
    )
    assert fault == "1 asked for, but no main dish is known to have no gluten ingredients"


def test_a_diet_named_twice_is_one_plate() -> None:
    cafe = tiny_cafe()
    twice = DietPlate(diets=("vegan", "vegan"))
    empty = week_plan(cafe, [])
    assert twice.check(empty, cafe) == DietPlate(diets=("vegan",)).check(empty, cafe)
    assert twice.parts() == (DietPlate(diets=("vegan",)),)


def test_each_diet_gives_apart() -> None:
    cafe = labels(tofu=frozenset({"soy", "wheat"}))
    day = week_plan(cafe, [("lentil_salad", MON, (MON,)), ("tofu_bake", MON, (MON,))])
    given = {
        part.diets: [phrase for phrase, on in part.concede(day, cafe, []) if on == MON]
        for part in DietPlate().parts()
    }
    assert given == {
        ("vegan",): [],
        ("gluten_free",): ["let the plate with no gluten ingredients lack 1 main dish"],
        ("nut_free",): [],
    }
