"""What labels say together: an unread one never becomes "free"."""

from __future__ import annotations

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser import nutrition
from optimiser.allergens import (
    ALL_ALLERGENS,
    DIET_BREAKERS,
    KNOWN_ALLERGENS,
    TREE_NUTS,
    need_not_name,
)
from optimiser.cafe import Cafe, Course, Dish, Form, Ingredient, Line


def ingredient(item: str, **facts: object) -> Ingredient:
    return Ingredient.model_validate({"id": item, "name": item, "form": Form.LOOSE, **facts})


def one_dish(*ingredients: Ingredient) -> Cafe:
    """A dish `bowl` with 100 g of each ingredient."""
    lines = tuple(Line(item=one.id, qty=100, unit="g", edible_g=100) for one in ingredients)
    bowl = Dish(id="bowl", name="Bowl", course="salad", portions=1, portion_g=100, lines=lines)
    return Cafe(
        name="Small",
        courses={"salad": Course(slots=1, price_cents=1000, take_up=1, portion_g=100)},
        ingredients={one.id: one for one in ingredients},
        dishes={"bowl": bowl},
    )


def test_the_label_names_each_allergen_with_its_ingredients() -> None:
    label = nutrition.allergens(
        one_dish(
            ingredient("tahini", allergens=frozenset({"sesame"})),
            ingredient("dukkah", allergens=frozenset({"sesame", "hazelnut"})),
            ingredient("kale", allergens=frozenset()),
            ingredient("bread"),
        ),
        "bowl",
    )
    assert label.contains == {"sesame", "hazelnut"}
    assert label.contains_from == {"sesame": ("dukkah", "tahini"), "hazelnut": ("dukkah",)}
    assert label.unknown_from == ("bread",)
    assert label.free_of("sesame") == "no"
    assert label.free_of("milk") == "unknown"
    assert pickle.loads(pickle.dumps(label)) == label


def free_of(allergen: str, *names: str) -> str:
    bowl = one_dish(ingredient("thing", allergens=frozenset(names)))
    return nutrition.allergens(bowl, "bowl").free_of(allergen)


def test_a_wide_name_and_a_narrow_name_never_clear_each_other() -> None:
    assert free_of("gluten", "barley") == "no"
    assert free_of("wheat", "spelt") == "no"
    assert free_of("wheat", "gluten") == "unknown"
    assert free_of("spelt", "wheat") == "unknown"
    assert free_of("rye", "wheat") == "yes"


def test_a_name_outside_the_lists_is_never_ruled_out() -> None:
    assert free_of("kiwi") == "unknown"
    assert free_of("kiwi", "kiwi") == "no"
    assert free_of("peanut", "peanutz") == "unknown"


GLUTEN = DIET_BREAKERS["gluten_free"]
ALLERGENS = st.sets(st.sampled_from(sorted(ALL_ALLERGENS)), max_size=3).map(frozenset)


@given(
    labels=st.lists(st.none() | ALLERGENS, max_size=4),
    asked=st.sampled_from(sorted(ALL_ALLERGENS)),
    at=st.integers(0, 4),
)
def test_no_dish_is_called_free_while_one_label_is_unread(
    labels: list[frozenset[str] | None], asked: str, at: int
) -> None:
    labels.insert(at, None)
    bowl = one_dish(*(ingredient(f"i{n}", allergens=one) for n, one in enumerate(labels)))
    assert nutrition.allergens(bowl, "bowl").free_of(asked) != "yes"
    for diet in (*DIET_BREAKERS, "any_other"):
        assert nutrition.diet(bowl, "bowl", diet) != "yes"


@given(labels=st.lists(ALLERGENS, max_size=4), asked=st.sampled_from(sorted(ALL_ALLERGENS)))
def test_a_dish_is_free_only_of_what_no_read_label_names(
    labels: list[frozenset[str]], asked: str
) -> None:
    bowl = one_dish(*(ingredient(f"i{n}", allergens=one) for n, one in enumerate(labels)))
    answer = nutrition.allergens(bowl, "bowl").free_of(asked)
    if any(asked in one for one in labels):
        assert answer == "no"
    if not any(labels):
        assert answer == "yes"
    if answer == "yes":
        assert not any(asked in one or "gluten" in one and asked in GLUTEN for one in labels)


def test_the_lists_by_law_differ_where_the_laws_do() -> None:
    eu, anz = KNOWN_ALLERGENS["eu"], KNOWN_ALLERGENS["anz"]
    assert anz - eu == {"pine_nut"}
    assert eu - anz == {"celery", "mustard", "spelt", "khorasan"}  # the last two are wheats
    assert len(TREE_NUTS & eu) == 8 and TREE_NUTS <= anz


def diet_of(diet: str, *names: str, excluded: frozenset[str] = frozenset()) -> str:
    thing = ingredient("thing", allergens=frozenset(names), diets_excluded=excluded)
    return nutrition.diet(one_dish(thing), "bowl", diet)


@pytest.mark.parametrize(
    ("diet", "breakers"),
    [
        ("vegan", "milk egg fish crustacean mollusc"),
        ("gluten_free", "wheat spelt khorasan rye barley oats gluten"),
        (
            "nut_free",
            "almond brazil_nut cashew hazelnut macadamia pecan pine_nut pistachio walnut peanut",
        ),
    ],
)
def test_each_diet_is_broken_by_its_allergens_and_by_no_other(diet: str, breakers: str) -> None:
    broken_by = {name for name in ALL_ALLERGENS if diet_of(diet, name) == "no"}
    assert broken_by == set(breakers.split())
    assert {diet_of(diet, name) for name in ALL_ALLERGENS - broken_by} == {"yes"}


def test_honey_has_no_allergen_and_is_still_not_vegan() -> None:
    assert diet_of("vegan") == "yes"
    assert diet_of("vegan", excluded=frozenset({"vegan"})) == "no"
    assert diet_of("gluten_free", excluded=frozenset({"vegan"})) == "yes"


def test_an_exclusion_counts_even_where_the_label_is_unread() -> None:
    honey = ingredient("honey", diets_excluded=frozenset({"vegan"}))
    assert nutrition.diet(one_dish(honey), "bowl", "vegan") == "no"
    assert nutrition.diet(one_dish(honey), "bowl", "nut_free") == "unknown"


def test_a_diet_that_only_the_cafe_knows_is_denied_but_never_confirmed() -> None:
    assert diet_of("low_onion", excluded=frozenset({"low_onion"})) == "no"
    assert diet_of("low_onion") == "unknown"


# --- what labels need not name


@pytest.mark.parametrize(
    ("asked", "clause"),
    [
        ({"soy", "wheat"}, ""),
        ({"spelt", "khorasan"}, ""),  # their wide name, wheat, is on both lists
        (
            {"celery"},
            ", and labels under the law of Australia and New Zealand need not name celery",
        ),
        ({"pine_nut", "almond"}, ", and labels under the law of the EU need not name pine nut"),
        ({"honey"}, ""),  # on no list, so never ruled out at all
    ],
)
def test_an_allergen_on_one_list_only_is_said_to_be_so(asked: set[str], clause: str) -> None:
    assert need_not_name(asked) == clause
