"""A dish or an ingredient as a person types it: its id, its name, or enough of either."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from difflib import get_close_matches

from optimiser.cafe import COMPONENT, Cafe
from optimiser.name_match import Names
from optimiser.table_faults import shown

MOST_NAMED = 5


def find_ingredient(cafe: Cafe, text: str) -> str:
    """The id of an ingredient. Raises ValueError with the text and names that are near it."""
    named = {one.id: one.name for one in cafe.ingredients.values()}
    return _found(cafe, text, "ingredient", named)


def find_dish(cafe: Cafe, text: str) -> str:
    """The id of a dish that is sold. Raises ValueError as `find_ingredient`."""
    named = {one.id: one.name for one in cafe.dishes.values() if one.course != COMPONENT}
    return _found(cafe, text, "dish of the cabinet", named)


def find_item(cafe: Cafe, text: str) -> str:
    """The id of an ingredient or a dish. Raises ValueError as `find_ingredient`."""
    named = {item: cafe.name_of(item) for item in (*cafe.ingredients, *cafe.dishes)}
    return _found(cafe, text, "ingredient or dish", named)


def or_as_typed(find: Callable[[Cafe, str], str], cafe: Cafe, text: str) -> str:
    """The id, or the text itself where none is found: whoever reads it says what is wrong."""
    try:
        return find(cafe, text)
    except ValueError:
        return text


def _found(cafe: Cafe, text: str, what: str, named: Mapping[str, str]) -> str:
    """An id: the one written, else the one so named, else the only one that begins so."""
    typed = text.strip().casefold()
    if typed in named:
        return typed
    same = [item for item, name in named.items() if name.casefold() == typed]
    begun = [
        item
        for item, name in named.items()
        if item.startswith(typed.replace(" ", "_")) or name.casefold().startswith(typed)
    ]
    for found in (same, begun if typed else []):
        if len(found) == 1:
            return found[0]
    several = same or (begun if typed else [])
    if several:
        raise ValueError(f"{shown(text)}: several begin so; write one of {_listed(several, named)}")
    near = _near(cafe, text, named)
    mend = (
        f"did you mean {_listed(near, named)}?"
        if near
        else "they are listed in ingredients.csv and dishes.csv"
    )
    raise ValueError(f"{shown(text)}: there is no such {what}; {mend}")


def _near(cafe: Cafe, text: str, named: Mapping[str, str]) -> list[str]:
    """Ids whose names are like the text, or that are spelt nearly so."""
    like = [one.item for one in Names(cafe).matches(text) if one.item in named]
    spelt = get_close_matches(text.casefold().replace(" ", "_")[:60], list(named), n=2)
    return list(dict.fromkeys([*like, *spelt]))


def _listed(items: list[str], named: Mapping[str, str]) -> str:
    words = [f"{item} ({named[item]})" for item in items[:MOST_NAMED]]
    more = len(items) - len(words)
    return ", ".join(words) + (f" and {more} more" if more else "")
