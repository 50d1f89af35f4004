"""Colours as letters, so that no table depends on colour alone."""

from __future__ import annotations

from collections.abc import Iterable

LETTERS = {
    "green": "G",
    "orange": "O",
    "red": "R",
    "purple": "P",
    "yellow": "Y",
    "white": "W",
    "brown": "B",
    "black": "K",
    "pink": "I",
}
STYLES = {
    "green": "black on green",
    "orange": "black on dark_orange",
    "red": "white on red",
    "purple": "white on purple",
    "yellow": "black on yellow",
    "white": "black on white",
    "brown": "white on orange4",
    "black": "white on black",
    "pink": "black on hot_pink",
}
"""Letter and ground, so that each reads on dark and on light terminals."""


def letters(colours: Iterable[str]) -> dict[str, str]:
    """A letter for each colour, in order; a colour of the cafe's own takes the first
    letter of its name that is free, and `?` if none is."""
    found: dict[str, str] = {}
    for colour in dict.fromkeys(colours):
        taken = {*LETTERS.values(), *found.values()}
        own = next((c for c in colour.upper() if c.isalpha() and c not in taken), "?")
        found[colour] = LETTERS.get(colour, own)
    return found
