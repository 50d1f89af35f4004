"""The allergens a label must name, and what a dish's labels say together.

An ingredient's allergens are None until somebody has read its label. Nothing
here ever answers "free" while a label is unread, or while it names something
that no list below knows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from optimiser.cafe import Ingredient

Answer = Literal["yes", "no", "unknown"]
"""Whether a dish is free of something, or fits a diet."""

GLUTEN_CEREALS = frozenset({"wheat", "spelt", "khorasan", "rye", "barley", "oats"})
TREE_NUTS = frozenset(
    {
        "almond",
        "brazil_nut",
        "cashew",
        "hazelnut",
        "macadamia",
        "pecan",
        "pine_nut",
        "pistachio",
        "walnut",
    }
)
_BOTH_LISTS = frozenset(
    {
        *(GLUTEN_CEREALS - {"spelt", "khorasan"} | {"gluten"}),
        *(TREE_NUTS - {"pine_nut"}),
        *("crustacean", "egg", "fish", "lupin", "milk", "mollusc"),
        *("peanut", "sesame", "soy", "sulphites"),
    }
)
KNOWN_ALLERGENS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "eu": _BOTH_LISTS | {"spelt", "khorasan", "celery", "mustard"},
        "anz": _BOTH_LISTS | {"pine_nut"},
    }
)
"""Names by law: EU 1169/2011 Annex II, and the FSANZ code's Schedule 9."""

LAW_WORDS = {"eu": "the EU", "anz": "Australia and New Zealand"}

ALL_ALLERGENS = KNOWN_ALLERGENS["eu"] | KNOWN_ALLERGENS["anz"]
"""Every name that some list knows."""

UMBRELLAS: Mapping[str, frozenset[str]] = MappingProxyType(
    {"gluten": GLUTEN_CEREALS, "wheat": frozenset({"spelt", "khorasan"})}
)
"""A name that stands for others: who avoids it avoids them, and a label that
gives only the wide name may mean any of them."""

DIET_BREAKERS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "vegan": frozenset({"milk", "egg", "fish", "crustacean", "mollusc"}),
        "gluten_free": GLUTEN_CEREALS | {"gluten"},
        "nut_free": TREE_NUTS | {"peanut"},
    }
)
"""Allergens that break a diet. Honey is no allergen: its row excludes `vegan`."""

UNKNOWN = "unknown"

DIET_WORDS: Mapping[str, Mapping[str, str]] = {
    "vegan": {"yes": "vegan ingredients", "no": "not vegan", "unknown": UNKNOWN},
    "gluten_free": {"yes": "no gluten ingredients", "no": "contains gluten", "unknown": UNKNOWN},
    "nut_free": {
        "yes": "no nut or peanut ingredients",
        "no": "contains nuts or peanuts",
        "unknown": UNKNOWN,
    },
}
"""What a label says of a diet: what was used, never that a dish is free of anything."""

DIET_TOPIC = {"vegan": "vegan", "gluten_free": "gluten", "nut_free": "nuts"}
"""What a diet is about: the column of a label."""

TRACES = "traces from shared boards, fryers and air"
"""What no label of an ingredient tells."""


@dataclass(frozen=True)
class AllergenLabel:
    """What the labels of a dish's ingredients say.

    `contains_from` gives the ingredients behind each allergen, sorted;
    `unknown_from` the ingredients whose label nobody has read, sorted.
    """

    contains: frozenset[str]
    contains_from: Mapping[str, tuple[str, ...]]
    unknown_from: tuple[str, ...]

    @property
    def is_complete(self) -> bool:
        """Whether every label was read and every name on it is understood."""
        return not self.unknown_from and self.contains <= ALL_ALLERGENS

    def free_of(self, allergen: str) -> Answer:
        """`no` if a label names it, `yes` only if every label rules it out.

        An allergen outside the lists is never ruled out: labels need not name it.
        """
        if self.contains & ({allergen} | UMBRELLAS.get(allergen, frozenset())):
            return "no"
        wider = {name for name, narrow in UMBRELLAS.items() if allergen in narrow}
        if allergen not in ALL_ALLERGENS or self.contains & wider or not self.is_complete:
            return "unknown"
        return "yes"


def label_of(ingredients: Iterable[Ingredient]) -> AllergenLabel:
    """The label of a mixture."""
    found: dict[str, set[str]] = {}
    unread: set[str] = set()
    for ingredient in ingredients:
        if ingredient.allergens is None:
            unread.add(ingredient.id)
        for allergen in ingredient.allergens or ():
            found.setdefault(allergen, set()).add(ingredient.id)
    return AllergenLabel(
        contains=frozenset(found),
        contains_from={key: tuple(sorted(found[key])) for key in sorted(found)},
        unknown_from=tuple(sorted(unread)),
    )


def fits(diet: str, ingredients: Iterable[Ingredient]) -> Answer:
    """Whether a mixture fits a diet.

    `no` if an ingredient excludes the diet or names an allergen that breaks it.
    A diet outside DIET_BREAKERS is never confirmed, since only what it excludes
    is recorded.
    """
    mixture = tuple(ingredients)
    label = label_of(mixture)
    breakers = DIET_BREAKERS.get(diet)
    excluded = any(diet in ingredient.diets_excluded for ingredient in mixture)
    if excluded or label.contains & (breakers or frozenset()):
        return "no"
    return "yes" if breakers is not None and label.is_complete else "unknown"


def need_not_name(allergens: Iterable[str]) -> str:
    """A clause on allergens that labels need not name under some law; empty if none.

    A narrow name whose wide one is on the list is named by it: spelt is wheat.
    """
    asked = frozenset(allergens) & ALL_ALLERGENS
    clauses = []
    for law, listed in KNOWN_ALLERGENS.items():
        covered = frozenset().union(*(UMBRELLAS[name] for name in UMBRELLAS if name in listed))
        gone = sorted(name.replace("_", " ") for name in asked - listed - covered)
        if gone:
            where = LAW_WORDS[law]
            clauses.append(f", and labels under the law of {where} need not name ")
            clauses.append(" or ".join(gone))
    return "".join(clauses)
