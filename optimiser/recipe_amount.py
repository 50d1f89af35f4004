"""The amounts in a line of a recipe as people write it: `2 x 400 g`, `1 1/2 cups`, `½ bunch`.

A small grammar of its own. Every function takes any text; what it cannot read is None and
never a guess. Units are those of the tables, or a word that no table has (`bunch`, `oz`).

    amount  := [times] number [unit] [size]      times := number (x | × | *)
    number  := whole [fraction] | fraction | decimal | word ; a range is `number - number`
    size    := ( number unit ), also without brackets after a count: `2 400 g tins`
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass

from optimiser.units import EACH, MASSES, PORTION, VOLUMES

_TABLE_WORDS = {
    "g": "g gm gms gr gram grams gramme grammes",
    "kg": "kg kgs kilo kilos kilogram kilograms",
    "ml": "ml mls millilitre millilitres milliliter milliliters",
    "l": "l lt ltr litre litres liter liters",
    "tsp": "tsp tsps teaspoon teaspoons",
    "tbsp": "tbsp tbsps tbs tblsp tablespoon tablespoons",
    "cup": "cup cups",
    PORTION: "portion portions serving servings",
    EACH: "each piece pieces pc pcs",
}
_CONTAINERS = """tin tins can cans jar jars bottle bottles pack packs packet packets pkt block
    blocks bag bags carton cartons punnet punnets tub tubs box boxes"""
_PIECES = "head heads bulb bulbs cob cobs ear ears clove cloves bunch bunches"
_PARTS = """stalk stalks stick sticks sprig sprigs leaf leaves slice slices handful handfuls pinch
    pinches dash dashes knob knobs strip strips wedge wedges rib ribs drop drops splash drizzle
    floret florets spray glug"""
_FOREIGN = "oz ozs ounce ounces lb lbs pound pounds pint pints quart quarts gallon gallons floz"

_IN_TABLE = {word: unit for unit, text in _TABLE_WORDS.items() for word in text.split()}
CONTAINERS = frozenset(_CONTAINERS.split())
"""What things are sold in: one is one piece of a whole thing."""

PIECES = frozenset(_PIECES.split())
"""Words for a natural piece, which may or may not be the piece of the tables."""

PARTS = frozenset(_PARTS.split())
"""Parts of a thing, or a little of it: their weight is in no table."""

FOREIGN = frozenset(_FOREIGN.split())
"""Units that the tables do not have."""

MOST = 1e6
_NUMBER_WORDS = {"a": 1.0, "an": 1.0, "one": 1.0, "half": 0.5, "two": 2.0, "three": 3.0,
    "four": 4.0, "five": 5.0, "six": 6.0, "seven": 7.0, "eight": 8.0, "nine": 9.0,
    "ten": 10.0, "twelve": 12.0, "dozen": 12.0, "quarter": 0.25}  # fmt: skip
_WORDED = "|".join(sorted(_NUMBER_WORDS, key=len, reverse=True))
_FRACTION = r"[0-9]{1,6}\s?/\s?[0-9]{1,6}"
_DECIMAL = r"[0-9]{1,3}(?:,[0-9]{3})+(?![0-9])|[0-9]{1,9}(?:[.,][0-9]{1,6})?|\.[0-9]{1,6}"
_NUMBER = (
    rf"(?:[0-9]{{1,6}}\s(?:and\s)?{_FRACTION}|{_FRACTION}|{_DECIMAL}|half an?\b|(?:{_WORDED})\b)"
)
_RANGE = rf"(?P<low>{_NUMBER})(?:\s?(?:-|to\b|or\b)\s?(?P<high>{_NUMBER}))?"
_WORD = r"(?:fl\.? ?oz|[a-z]+)\b\.?"
_TIMES = re.compile(rf"(?P<times>{_NUMBER})\s?(?:x|\*)\s?(?=[0-9.])", re.I)
_AMOUNT = re.compile(rf"{_RANGE}(?:\s?-?(?P<unit>{_WORD}))?", re.I)
_SIZE = re.compile(
    rf"\s?\(?\s?(?:about|approx\.?|each)?\s?{_RANGE}\s?-?(?P<unit>{_WORD})"
    r"(?:\s(?:each|net|drained))?\s?\)?",
    re.I,
)
_VULGAR = re.compile(r"([0-9]?)([\u00bc-\u00be\u2150-\u215e])")


@dataclass(frozen=True)
class Amount:
    """`qty` of `unit`: one of the tables', a word that is none, or "" for a bare count.

    `count` times `qty` where something was written as `2 x 400 g`. `high`: the end of a
    range that begins with `qty`. `comma`: a comma may be a decimal point or not.
    """

    qty: float
    unit: str = ""
    high: float | None = None
    count: float | None = None
    comma: bool = False


def tidy(line: str) -> str:
    """A line in plain characters: `1½` is `1 1/2`, `×` is `x`, dashes are `-`."""
    text = _VULGAR.sub(lambda hit: f"{hit[1]} {hit[2]}", line[:400])
    text = unicodedata.normalize("NFKC", text)
    for old, new in (("\u2044", "/"), ("\u00d7", "x"), ("\u2715", "x"), ("\u2013", "-"),
                     ("\u2014", "-"), ("\u2212", "-"), ("\u2019", "'")):  # fmt: skip
        text = text.replace(old, new)
    return re.sub(r"\s+", " ", text).strip()


def number(text: str) -> float | None:
    """`1 1/2`, `3/4`, `2.5`, `1,5`, `half a`; None where it is no likely amount."""
    words = text.lower().replace("and ", "").split()
    if words[:1] == ["half"] and words[1:] in (["a"], ["an"]):
        return 0.5
    joined = re.sub(r"\s?/\s?", "/", " ".join(words))
    total = 0.0
    for part in joined.split():
        value = _one_number(part)
        if value is None:
            return None
        total += value
    return total if 0 < total <= MOST and math.isfinite(total) else None


def _one_number(part: str) -> float | None:
    if part in _NUMBER_WORDS:
        return _NUMBER_WORDS[part]
    over, slash, under = part.partition("/")
    if slash:
        return int(over) / int(under) if int(under) else None
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+", part):
        return float(part.replace(",", ""))
    return float(part.replace(",", "."))


def unit_of(word: str) -> str | None:
    """The unit that a word stands for, or the word itself if it is a measure of another
    kind; None for a word that is no measure."""
    if word.strip(".") == "T":  # by custom a tablespoon, where `t` is a teaspoon
        return "tbsp"
    plain = word.lower().replace(".", "").replace(" ", "")
    if plain == "t":
        return "tsp"
    if plain in _IN_TABLE:
        return _IN_TABLE[plain]
    return plain if plain in CONTAINERS | PIECES | PARTS | FOREIGN else None


def leading(text: str) -> tuple[Amount, str] | None:
    """The amount that a text begins with, and the rest; None if it begins with none."""
    times = _TIMES.match(text)
    found = _read(_AMOUNT, text[times.end() :] if times else text)
    if found is None:
        return None
    amount, rest = found
    if times:
        count = number(times["times"])
        if count is None or amount.unit not in (*MASSES, *VOLUMES, *FOREIGN):
            return None
        return Amount(amount.qty, amount.unit, amount.high, count, amount.comma), rest
    return amount, rest


def size(text: str) -> tuple[Amount, str] | None:
    """A mass or volume that a text begins with, in brackets or not: `(400 g) tins`."""
    found = _read(_SIZE, text)
    return found if found and found[0].unit in (*MASSES, *VOLUMES, *FOREIGN) else None


def _read(pattern: re.Pattern[str], text: str) -> tuple[Amount, str] | None:
    hit = pattern.match(text)
    if not hit:
        return None
    low = number(hit["low"])
    high = number(hit["high"]) if hit["high"] else None
    if low is None or (hit["high"] and (high is None or high < low)):
        return None
    unit = unit_of(hit["unit"]) if hit["unit"] else None
    if unit is None and text[hit.end("high" if high else "low") :].startswith("-"):
        return None  # `5-spice` is a name
    # A word that is no unit is the name's: give it back.
    rest = text[hit.end() :] if unit or not hit["unit"] else text[hit.start("unit") :]
    comma = "," in hit["low"] or "," in (hit["high"] or "")
    return Amount(low, unit or "", high, None, comma), rest.strip()
