"""Names as people write them, matched to the ingredients and dishes of a cafe.

Names are compared word by word (difflib from the standard library forgives spelling). The
score of two names is 2 · weight of the words in common / weight of all their words: 1 is the
same name, 0 has no word in common. It is a likeness and no proof: what `is_sure` does not
let through has to be confirmed by somebody.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache

from optimiser.cafe import Cafe, Dish, Ingredient

SURE = 0.85
"""From here on a match may stand without being confirmed, if nothing else comes near."""

CLOSE = 0.08
"""Two scores nearer than this are as good as each other."""

POSSIBLE = 0.4
"""Below this a name is not found at all."""

ALTERNATIVES = 5
LIKE = 0.8
"""Words as like as this may be the same word, misspelt."""

MISSPELT = 0.7
"""What a word counts that may be misspelt."""

LIGHT = 0.1
"""The weight of a word that says how something is cut or how large it is."""

LIGHT_WORDS = frozenset(
    """a an and of the or to with about approx chopped coarsely cubed cut diced drained extra finely
    fresh freshly good grated halved heaped large medium minced optional peeled quality quartered
    ripe roughly rinsed shredded sliced small thinly torn trimmed virgin washed whole""".split()
)
HINT = 0.1
"""What words beside the name (tin, dry, ground) may add to a score."""

_WORD = re.compile(r"[a-z0-9]+")
_LONGEST = 40


@dataclass(frozen=True)
class Match:
    """An ingredient or a dish that a name may mean; `score` from 0 to 1.

    `rank` adds what the words beside the name speak for: it tells equals apart."""

    item: str
    name: str
    score: float
    rank: float


def matches(cafe: Cafe, name: str, hints: str = "") -> tuple[Match, ...]:
    """What `name` may mean, best first; `hints`: words beside the name, such as `tin`."""
    return Names(cafe).matches(name, hints)


def is_sure(found: tuple[Match, ...]) -> bool:
    """Whether the first match is very like the name and nothing else comes near."""
    if not found or found[0].score < SURE:
        return False
    return len(found) == 1 or found[0].rank - found[1].rank >= CLOSE


class Names:
    """The names of a cafe, split into words once for many questions."""

    def __init__(self, cafe: Cafe) -> None:
        self._forms = [(thing.id, thing.name, _forms(thing)) for thing in _things(cafe)]

    def matches(self, name: str, hints: str = "") -> tuple[Match, ...]:
        """As the function of this name."""
        asked = words(name)
        if not asked:
            return ()
        beside = [word for word in words(hints) if word not in LIGHT_WORDS]
        found = []
        for item, called, forms in self._forms:
            score = max(_score(asked, form) for form in forms)
            if score >= POSSIBLE:
                extra = HINT if _common(beside, forms[0]) > 0 else 0.0
                found.append(Match(item, called, score, score + extra))
        return tuple(sorted(found, key=lambda one: (-one.rank, one.item))[:ALTERNATIVES])


def words(text: str) -> tuple[str, ...]:
    """The words of a text: lower case, without accents, in the singular, each once."""
    plain = unicodedata.normalize("NFKD", text[:400]).encode("ascii", "ignore").decode().lower()
    return tuple(dict.fromkeys(_singular(word[:_LONGEST]) for word in _WORD.findall(plain)))


def _singular(word: str) -> str:
    """`tomatoes` and `tomato`, `berries` and `berry`, `leaves` and `leaf` become one."""
    for ending, instead in (("ies", "y"), ("oes", "o"), ("shes", "sh"), ("ches", "ch")):
        if word.endswith(ending) and len(word) > len(ending) + 2:
            return word[: -len(ending)] + instead
    if word in ("leaves", "halves", "loaves"):
        return word[:-3] + "f"
    if word.endswith("s") and not word.endswith(("ss", "us", "is")) and len(word) > 3:
        return word[:-1]
    return word


def _forms(thing: Ingredient | Dish) -> tuple[tuple[str, ...], ...]:
    """The ways to say a thing: its name, its id, and of an ingredient its name up to the
    first comma (`Tempeh, 250 g block`); of a dish that would be one of its parts."""
    names = [thing.name, thing.id.replace("_", " ")]
    if isinstance(thing, Ingredient):
        names.append(thing.name.partition(",")[0])
    return tuple(found for name in names if (found := words(name))) or ((thing.id,),)


def _weight(word: str) -> float:
    return LIGHT if word in LIGHT_WORDS else 1.0


def _score(asked: tuple[str, ...], form: tuple[str, ...]) -> float:
    every = sum(map(_weight, asked)) + sum(map(_weight, form))
    return 2.0 * min(_common(asked, form), _common(form, asked)) / every


def _common(asked: Iterable[str], form: Iterable[str]) -> float:
    """The weight of the words asked for that are in a name, misspelt ones a little less."""
    return sum(
        _weight(word) * max((_likeness(word, other) for other in form), default=0.0)
        for word in asked
    )


@lru_cache(maxsize=20_000)
def _likeness(one: str, other: str) -> float:
    """1 for the same word, less for one that may be misspelt, else 0."""
    if one == other:
        return 1.0
    if min(len(one), len(other)) < 4 or abs(len(one) - len(other)) > 2:
        return 0.0
    ratio = SequenceMatcher(None, one, other, autojunk=False).ratio()
    return MISSPELT * ratio if ratio >= LIKE else 0.0


def _things(cafe: Cafe) -> list[Ingredient | Dish]:
    return [*cafe.ingredients.values(), *cafe.dishes.values()]


def called(cafe: Cafe) -> Mapping[str, str]:
    """Id -> name of every ingredient and dish, ids added where two names are the same."""
    things = _things(cafe)
    seen: dict[str, int] = {}
    for thing in things:
        seen[thing.name] = seen.get(thing.name, 0) + 1
    return {
        thing.id: thing.name if seen[thing.name] == 1 else f"{thing.name} ({thing.id})"
        for thing in sorted(things, key=lambda thing: (thing.name.casefold(), thing.id))
    }
