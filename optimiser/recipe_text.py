"""Lines of a recipe as text, made into rows for somebody to confirm.

Nothing is guessed in silence: whatever a line leaves open is a doubt in words, and what no
table can turn into grams says what is missing. No text makes it raise.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimiser.cafe import Cafe
from optimiser.name_match import LIGHT_WORDS, Match, Names, is_sure
from optimiser.recipe_amount import CONTAINERS, FOREIGN, PARTS, Amount, leading, size, tidy, unit_of
from optimiser.recipe_weigh import Written, missing, weigh
from optimiser.units import MASSES, VOLUMES

MOST_LINES = 200
LONGEST_LINE = 300
"""What is longer is no line of a recipe."""

LIKELY = 0.55
"""From this score on the best match is put into the row, to be confirmed."""

READ, CHECK, OPEN, HEADING = "read", "check", "missing", "heading"
STATE_WORDS = {
    READ: "✓ read",
    CHECK: "? check",
    OPEN: "✗ missing",
    HEADING: "– left out",
}
"""A symbol and a word for each state of a row."""

_BULLET = re.compile(r"^(?:[-*+\u2022\u00b7\u25a2\u25cb\u25cf]\s*|\[[ x]?\]\s*|[0-9]{1,2}[.)]\s+)+")
_OF_IT = re.compile(
    r"^(?P<part>(?:(?:finely|grated|freshly|squeezed|the) )*(?:juice|zest|rind|flesh|leaves)"
    r"(?: (?:and|&) (?:juice|zest|rind))?) of (?P<rest>.+)$",
    re.I,
)
_OF = re.compile(r"^of (?:the )?", re.I)
_TAIL = re.compile(r"\s(?:to taste|to serve|for serving|as needed|if needed)\b.*$", re.I)
_BRACKETS = re.compile(r"\(([^()]*)\)")
_TWO_THINGS = re.compile(r"\s(?:and|or|&|/)\s", re.I)
_MORE = re.compile(r"^(?:\+|plus\b|and\b|&)\s?", re.I)


@dataclass(frozen=True)
class PastedRow:
    """One line and what was read of it. `qty` None, `unit` or `item` "" where unknown.

    `doubts`: what has to be confirmed, in words; `matches`: what the name may mean.
    """

    line: str
    qty: float | None = None
    unit: str = ""
    item: str = ""
    note: str = ""
    doubts: tuple[str, ...] = ()
    matches: tuple[Match, ...] = ()
    is_heading: bool = False


def read_recipe(cafe: Cafe, text: str) -> list[PastedRow]:
    """A row for every line that is not blank, in order; at most MOST_LINES."""
    names = Names(cafe)
    lines = [line for line in text.splitlines() if tidy(line)]
    return [_row(cafe, names, line.strip()) for line in lines[:MOST_LINES]]


def lines_left_out(text: str) -> int:
    """How many lines were too many to be read."""
    return max(0, sum(bool(tidy(line)) for line in text.splitlines()) - MOST_LINES)


def open_points(cafe: Cafe, row: PastedRow) -> list[str]:
    """What keeps a row from being a recipe line: no amount, no ingredient, no weight."""
    if row.is_heading:
        return []
    found = []
    if not row.item:
        found.append("not found: choose one or make a new ingredient")
    if row.qty is None:
        found.append("no amount: write one")
    return found + missing(cafe, row.item, row.qty, row.unit)


def state_of(cafe: Cafe, row: PastedRow, confirmed: bool = False) -> str:
    """READ, CHECK, OPEN or HEADING; confirming ends doubts and never fills a gap."""
    if row.is_heading:
        return HEADING
    if open_points(cafe, row):
        return OPEN
    return CHECK if row.doubts and not confirmed else READ


def recipe_cells(rows: Sequence[PastedRow]) -> list[dict[str, str]]:
    """Rows as cells of recipe_lines.csv, without the dish."""
    return [
        {
            "item": row.item,
            "qty": "" if row.qty is None else f"{row.qty:.10g}",
            "unit": row.unit,
            "yield_pct": "",
            "visible": "yes",
            "flexible": "",
            "note": row.note,
        }
        for row in rows
        if not row.is_heading
    ]


def _row(cafe: Cafe, names: Names, line: str) -> PastedRow:
    if len(line) > LONGEST_LINE:
        short = line[:LONGEST_LINE]
        return PastedRow(short, doubts=(f"longer than {LONGEST_LINE} characters: not read",))
    text = _BULLET.sub("", tidy(line))
    if text.endswith(":") and not any(character.isdigit() for character in text):
        return PastedRow(line, is_heading=True)
    written = _written(text)
    found = names.matches(written.name, f"{written.container} {written.note}")
    chosen = found[0] if found and found[0].score >= LIKELY else None
    doubts = [*written.doubts, *_doubts_of_name(found)]
    weighed = weigh(cafe, chosen.item if chosen else "", written)
    return PastedRow(
        line=line,
        qty=weighed.qty,
        unit=weighed.unit,
        item=chosen.item if chosen else "",
        note=written.note,
        doubts=(*doubts, *weighed.doubts),
        matches=found,
    )


def _doubts_of_name(found: tuple[Match, ...]) -> list[str]:
    """Why a match has to be confirmed; nothing if it is sure or there is none to confirm."""
    if not found or found[0].score < LIKELY or is_sure(found):
        return []
    near = [one.name for one in found[1:3] if one.score >= LIKELY]
    others = f"; it may also be {' or '.join(near)}" if near else ""
    return [f"is it {found[0].name}?{others}"]


# -- one line taken apart


def _written(text: str) -> Written:
    """A line as amount, container, name and note."""
    part = _OF_IT.match(text)
    doubts: tuple[str, ...] = ()
    notes: list[str] = []
    if part:
        text = part["rest"]
        notes.append(part["part"].lower())
        doubts = (f"only the {part['part'].lower()} is used: does the whole weight count?",)
    found = leading(text) or _trailing(text)
    if found is None:
        return _named(Written(doubts=doubts), text, notes)
    amount, rest = found
    written = Written(amount=amount, doubts=doubts)
    written, rest = _second_measure(written, rest, notes)
    written, rest = _container(written, rest)
    return _named(written, rest, notes)


def _trailing(text: str) -> tuple[Amount, str] | None:
    """The amount that a line ends with: `Chickpeas, 400 g`."""
    for gap in list(re.finditer(r"[\s,:(-]+(?=[.0-9])", text))[:20]:
        found = leading(text[gap.end() :])
        if found and gap.start() and not re.sub(r"[\s).]", "", found[1]):
            return found[0], text[: gap.start()].rstrip(" ,:(-")
    return None


def _second_measure(written: Written, rest: str, notes: list[str]) -> tuple[Written, str]:
    """`250 g / 9 oz` says one amount twice; `1 cup plus 2 tbsp` says two."""
    if rest.startswith("/"):
        again = leading(rest[1:].strip())
        return (written, again[1]) if again else (written, rest[1:].strip())
    more = _MORE.match(rest)
    second = leading(rest[more.end() :]) if more else None
    if more is None or second is None or not second[0].unit:
        return written, rest
    said = rest[: len(rest) - len(second[1])].strip()
    notes.append(said)
    doubt = f"two amounts: {said} comes on top; write the sum"
    return replace(written, amount=None, doubts=(*written.doubts, doubt)), second[1]


def _container(written: Written, rest: str) -> tuple[Written, str]:
    """What it is sold in, and the size in brackets or between count and container."""
    amount = written.amount
    if amount is None:
        return written, rest
    sized = size(rest)
    if sized and amount.unit == "" and amount.count is None:
        amount, rest = replace(sized[0], count=amount.high or amount.qty), sized[1]
    elif sized and amount.unit in CONTAINERS:
        word = amount.unit
        amount, rest = replace(sized[0], count=amount.high or amount.qty), sized[1]
        return replace(written, amount=amount, container=word), rest
    elif sized and rest.startswith("(") and amount.unit in VOLUMES and sized[0].unit in MASSES:
        doubt = "the weight in brackets is taken, not the measure before it"
        return replace(written, amount=sized[0], doubts=(*written.doubts, doubt)), sized[1]
    word, _, after = rest.partition(" ")
    kind = unit_of(word.strip(","))
    if kind in CONTAINERS and amount.unit in (*MASSES, *VOLUMES, *FOREIGN):
        amount = replace(amount, count=amount.count or 1.0)
        return replace(written, amount=amount, container=kind or ""), after
    if amount.unit == "" and kind in CONTAINERS | PARTS:  # `2 large tins`, one word further
        return replace(written, amount=replace(amount, unit=kind or "")), after
    container = amount.unit if amount.unit in CONTAINERS else ""
    return replace(written, amount=amount, container=container), rest


def _named(written: Written, rest: str, notes: list[str]) -> Written:
    """The name without brackets, what follows a comma, and words of preparation before it."""
    amount = written.amount
    for inside in _BRACKETS.findall(rest):
        sized = size(inside)
        if sized and not sized[1] and amount and amount.unit == "" and amount.count is None:
            doubt = "the weight in brackets is taken for all of it"
            written = replace(written, amount=sized[0], doubts=(*written.doubts, doubt))
        elif inside.strip():
            notes.append(inside.strip())
    name = _OF.sub("", _BRACKETS.sub(" ", rest).replace("(", " ").replace(")", " ").strip())
    name, _, after = name.partition(",")
    name, dash, later = name.partition(" - ")
    notes += [one.strip() for one in (later, after) if one.strip()]
    tail = _TAIL.search(f" {name}")
    if tail:
        notes.append(tail[0].strip())
        name = f" {name}"[: tail.start()]
    before = []
    words = name.split()
    leave = LIGHT_WORDS if amount else LIGHT_WORDS | PARTS  # `handful of mint` has no amount
    while len(words) > 1 and words[0].lower().strip("-") in leave:
        before.append(words.pop(0))
    if _TWO_THINGS.search(name):
        doubt = "two things in one line? each needs a row of its own"
        written = replace(written, doubts=(*written.doubts, doubt))
    return replace(
        written,
        name=" ".join(words),
        note=", ".join(one for one in (" ".join(before), *notes) if one),
    )
