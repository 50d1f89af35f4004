"""Amino acids: the published scoring patterns, milligrams in a portion, the score of a plate.

The score of some food is the lowest ratio, over the amino acids of a pattern, of what a
gram of its protein holds to what the pattern asks for. Digestibility is not counted.
What nobody has entered counts as none, so food never looks better than it is known to be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from optimiser import nutrition
from optimiser.cafe import AMINO_ACIDS, Cafe

Pattern = Mapping[str, float]
"""Milligrams of amino acids asked for in a gram of protein, by key of AMINO_ACIDS."""

Portions = Mapping[str, float]
"""Dish -> number of portions; an average plate has fractions of them."""


def _pattern(*mg: float) -> Pattern:
    return MappingProxyType(dict(zip(AMINO_ACIDS, mg, strict=True)))


PATTERNS: Mapping[str, Pattern] = MappingProxyType(
    {
        # FAO Food and Nutrition Paper 92 (2013), Table 5: older child, adolescent, adult
        "fao_2013_adult": _pattern(16, 30, 61, 48, 23, 41, 25, 6.6, 40),
        # FAO Food and Nutrition Paper 92 (2013), Table 5: child of 0.5 to 3 years
        "fao_2013_child": _pattern(20, 32, 66, 57, 27, 52, 31, 8.5, 43),
        # WHO/FAO/UNU 2007, Technical Report Series 935, adult: as a secondary source gives it
        "who_2007_adult": _pattern(15, 30, 59, 45, 22, 38, 23, 6, 39),
    }
)
"""Scoring patterns by name, mg per g protein."""

PATTERN_WORDS = {
    "fao_2013_adult": "FAO 2013, over 3 years",
    "fao_2013_child": "FAO 2013, half a year to 3 years",
    "who_2007_adult": "WHO/FAO/UNU 2007, adults",
}
ACID_WORDS = {
    "his": "histidine",
    "ile": "isoleucine",
    "leu": "leucine",
    "lys": "lysine",
    "saa": "sulphur amino acids",
    "aaa": "aromatic amino acids",
    "thr": "threonine",
    "trp": "tryptophan",
    "val": "valine",
}

UNKNOWN_SHARE = 0.05
"""What may be unknown of one ingredient before the score of the food is unknown."""


@dataclass(frozen=True)
class Score:
    """An amino-acid score and the amino acid that limits it."""

    value: float
    limiting: str


def amino_mg(cafe: Cafe, dish_id: str) -> dict[str, float]:
    """Milligrams of each amino acid per portion: sum of known protein_g x known mg per g."""
    total = dict.fromkeys(AMINO_ACIDS, 0.0)
    for item, protein_g in nutrition.proteins_g(cafe, dish_id).items():
        for acid, mg_per_g in cafe.ingredients[item].amino_mg_per_g_protein.items():
            total[acid] += protein_g * mg_per_g
    return total


def amino_unknown(cafe: Cafe, dish_id: str, acids: Iterable[str] = AMINO_ACIDS) -> tuple[str, ...]:
    """Ingredients whose milligrams of some of `acids` nobody can work out, sorted.

    Their protein is unknown, or they have some and an amino acid of it is blank.
    """
    asked = frozenset(acids)
    blank = {
        item
        for item, protein_g in nutrition.proteins_g(cafe, dish_id).items()
        if protein_g > 0 and not asked <= cafe.ingredients[item].amino_mg_per_g_protein.keys()
    }
    return tuple(sorted(blank | set(nutrition.protein_unknown(cafe, dish_id))))


def mg_per_g_protein(cafe: Cafe, portions: Portions, acid: str) -> float | None:
    """Milligrams of an amino acid in a gram of the known protein of these portions.

    None without protein, or where too much is unknown: see `score`.
    """
    protein_g = _protein_g(cafe, portions)
    if protein_g <= 0 or not _is_known(cafe, portions, (acid,)):
        return None
    return plate_mg(cafe, portions)[acid] / protein_g


def plate_mg(cafe: Cafe, portions: Portions) -> dict[str, float]:
    """Known milligrams of each amino acid in these portions."""
    total = dict.fromkeys(AMINO_ACIDS, 0.0)
    for dish, number in portions.items():
        for acid, mg in amino_mg(cafe, dish).items():
            total[acid] += number * mg
    return total


def score(cafe: Cafe, portions: Portions, pattern: Pattern) -> Score | None:
    """The score of these portions: min over amino acids of (mg / g protein) / pattern.

    None without protein; if an ingredient with more than UNKNOWN_SHARE of the protein
    has an unknown amino acid of the pattern; or if one with more than UNKNOWN_SHARE of
    the edible mass has unknown protein, since it could be the larger source.
    """
    if not _is_known(cafe, portions, pattern):
        return None
    return lowest_ratio(plate_mg(cafe, portions), _protein_g(cafe, portions), pattern)


def lowest_ratio(mg: Mapping[str, float], protein_g: float, pattern: Pattern) -> Score | None:
    """The score of so much of each amino acid in so much protein; None without protein."""
    if protein_g <= 0:
        return None
    ratios = {acid: mg[acid] / protein_g / asked for acid, asked in pattern.items()}
    limiting = min(ratios, key=ratios.__getitem__)
    return Score(ratios[limiting], limiting)


def _protein_g(cafe: Cafe, portions: Portions) -> float:
    return sum(n * nutrition.protein_g(cafe, dish) for dish, n in portions.items())


def _is_known(cafe: Cafe, portions: Portions, acids: Iterable[str]) -> bool:
    """Whether no ingredient of unknown amino acids or protein matters: see `score`."""
    asked = frozenset(acids)
    mass_g: dict[str, float] = {}
    protein_g: dict[str, float] = {}
    for dish, number in portions.items():
        for item, grams in nutrition.edible_parts(cafe, dish).items():
            mass_g[item] = mass_g.get(item, 0.0) + number * grams
        for item, grams in nutrition.proteins_g(cafe, dish).items():
            protein_g[item] = protein_g.get(item, 0.0) + number * grams
    most_mass_g = UNKNOWN_SHARE * sum(mass_g.values())
    if any(grams > most_mass_g for item, grams in mass_g.items() if item not in protein_g):
        return False
    most_protein_g = UNKNOWN_SHARE * sum(protein_g.values())
    return all(
        grams <= most_protein_g or asked <= cafe.ingredients[item].amino_mg_per_g_protein.keys()
        for item, grams in protein_g.items()
    )
