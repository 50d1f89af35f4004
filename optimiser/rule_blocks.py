"""cafe.toml cut into blocks of text, so that one rule changes and all else stays as typed.

A block is a rule with the comments directly above it, or other text. tomlkit alone would
give a comment to the table before it, and lose it when that rule goes.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import tomlkit
from pydantic.fields import FieldInfo
from tomlkit.items import Table

from optimiser.rules import Rule, parse_rule
from optimiser.settings_values import plain

ON, OFF = "rules", "rules_off"
"""Where rules stand in cafe.toml: those that count, and those switched off."""

LINE_CHARACTERS = 80
"""A list longer than this is written with a line for each entry."""

_LINE = re.compile(r"[^\n]*\n|[^\n]+")
"""Lines as TOML knows them, ends included; str.splitlines knows more."""

_NO_TEXT = re.compile(r"\s*(#.*)?")


@dataclass(frozen=True)
class Block:
    """`above`: blank lines and comments before; `key`: ON or OFF for a rule, else empty."""

    above: str
    body: str
    key: str = ""

    @property
    def rule(self) -> Rule:
        """The rule of this block. Raises pydantic.ValidationError."""
        return parse_rule(plain(tomllib.loads(self.body)[self.key][0]))


def blocks_of(text: str) -> list[Block]:
    """All of a valid cafe.toml, cut at its headers; the last block may be comments only."""
    found: list[Block] = []
    above = ""
    for chunk in _chunks(_as_tables(text)):
        body, below = _cut_comments(chunk)
        found.append(Block(above, body, _key(body)))
        above = below
    return [*found, Block(above, "")]


def with_rules_as(text: str, wanted: dict[str, Sequence[Rule]]) -> str:
    """`text` with exactly these rules under each key of `wanted`, its other keys untouched."""
    blocks = blocks_of(text)
    pool = _Pool([one for one in blocks if one.key in wanted])
    made = {key: [pool.take(rule, key) for rule in rules] for key, rules in wanted.items()}
    for key, rules in wanted.items():
        made[key] = [
            pool.like(rule, key) if block is None else block
            for rule, block in zip(rules, made[key], strict=True)
        ]
    end = "\r\n" if "\r\n" in text else "\n"
    new = {
        key: [_written(block, rule, key, end) for block, rule in zip(made[key], rules, strict=True)]
        for key, rules in wanted.items()
    }
    return _joined(blocks, new, pool.dropped, end)


@dataclass
class _Pool:
    """Blocks of rules as they stand, each to be used at most once."""

    left: list[Block]
    dropped: list[Block] = field(init=False)

    def __post_init__(self) -> None:
        self.dropped = list(self.left)

    def take(self, rule: Rule, key: str) -> Block | None:
        """A block that says just this."""
        return self._first((block for block in self.dropped if block.rule == rule), key)

    def like(self, rule: Rule, key: str) -> Block | None:
        """A block of the same kind, to be changed."""
        return self._first((block for block in self.dropped if block.rule.kind == rule.kind), key)

    def _first(self, found: Iterable[Block], key: str) -> Block | None:
        """The first, of the same list if there is one."""
        block = min(found, key=lambda block: block.key != key, default=None)
        if block is not None:
            self.dropped = [one for one in self.dropped if one is not block]
        return block


def _joined(
    blocks: Sequence[Block], new: dict[str, list[Block]], dropped: Sequence[Block], end: str
) -> str:
    """The blocks with the rules of each key where they stood, new ones after the last."""
    last = {key: max(_places(blocks, key), default=len(blocks) - 2) for key in new}
    text = ""
    waiting = {key: list(rules) for key, rules in new.items()}
    for place, block in enumerate(blocks):
        if block.key not in new:
            text = _after(text, block, end)
        elif any(block is one for one in dropped):
            text += _far_comments(block.above)
        elif waiting[block.key]:
            text = _after(text, waiting[block.key].pop(0), end)
        for key, rules in waiting.items():
            if place == last[key]:
                for rule in rules:
                    text = _after(text, rule, end)
    return text


def _places(blocks: Sequence[Block], key: str) -> list[int]:
    return [place for place, block in enumerate(blocks) if block.key == key]


def _after(text: str, block: Block, end: str) -> str:
    """`text` and a block; a rule starts a line of its own."""
    between = "" if not block.body or not text or text.endswith("\n") else end
    return text + between + block.above + block.body


def _far_comments(above: str) -> str:
    """Comments with a blank line between them and a rule: a heading, which outlives it."""
    lines = _LINE.findall(above)
    blank = [place for place, line in enumerate(lines) if not line.strip()]
    return "".join(lines[: blank[-1] + 1]) if blank else ""


def _written(old: Block | None, rule: Rule, key: str, end: str) -> Block:
    """The block that says `rule`: the old one with what differs changed. `end`: of a line."""
    if old is None:
        return Block(end, re.sub("\n", end, _changed("", rule, None, key)), key)
    if old.key == key and old.rule == rule:
        return old
    body = old.body
    if old.key != key:
        body = re.sub(r"^(\s*)\[\[[^\]]*\]\]", rf"\1[[{key}]]", body, count=1)
    return Block(old.above, re.sub(r"\r?\n", end, _changed(body, rule, old.rule, key)), key)


def _changed(body: str, rule: Rule, old: Rule | None, key: str) -> str:
    """`body` with the parameters that differ from `old` set to those of `rule`."""
    document = tomlkit.parse(body or f'[[{key}]]\nkind = "{rule.kind}"\n')
    table: Any = document[key][0]
    fields = type(rule).model_fields
    before = old or type(rule).model_construct()
    for name, about in fields.items():
        value = getattr(rule, name)
        if name == "kind" or (hasattr(before, name) and getattr(before, name) == value):
            continue
        _put(table, name, value, about)
    return tomlkit.dumps(document)


def _put(table: Table, name: str, value: Any, about: FieldInfo) -> None:
    """Set one key. The default is only written over another value; TOML knows no blank,
    so that a blank is an empty text where leaving it out would mean something else."""
    default = None if about.is_required() else about.get_default(call_default_factory=True)
    if value is None and default is None:
        table.pop(name, None)
    elif name in table or value != default:
        table[name] = toml_value("" if value is None else value)


def toml_value(value: Any) -> Any:
    """A value as one would write it: `3` for 3.0, long lists over several lines."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, tuple | list | frozenset):
        array = tomlkit.item([toml_value(one) for one in value])
        if len(array.as_string()) > LINE_CHARACTERS:
            array.multiline(True)
        return array
    return value


# -- cutting ---------------------------------------------------------------


def _chunks(text: str) -> list[str]:
    """`text` cut before each header. A line that looks like one inside a text or a list is
    none: what comes before it is then no complete TOML."""
    chunks, start, here = [], 0, 0
    for line in _LINE.findall(text):
        if line.lstrip().startswith("[") and here > start and _complete(text[start:here]):
            chunks.append(text[start:here])
            start = here
        here += len(line)
    return [*chunks, text[start:]]


def _complete(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _cut_comments(chunk: str) -> tuple[str, str]:
    """A chunk without the comments at its end, and these: they speak of what follows."""
    lines = _LINE.findall(chunk)
    end = len(lines)
    while end and _NO_TEXT.fullmatch(lines[end - 1].rstrip("\r\n")):
        end -= 1
    while end and not _complete("".join(lines[:end])):
        end += 1  # the comment is inside a text of several lines
    while end < len(lines) and not lines[end].strip():
        end += 1
    return "".join(lines[:end]), "".join(lines[end:])


def _key(body: str) -> str:
    """ON or OFF if the block is one rule, else empty."""
    found = tomllib.loads(body)
    for key in (ON, OFF):
        if body.lstrip().startswith("[[") and isinstance(found.get(key), list):
            return key
    return ""


def _as_tables(text: str) -> str:
    """Rules written as one list, `rules = [{...}]`, as a table each; else the text itself."""
    document = tomlkit.parse(text)
    found = {key: document[key].unwrap() for key in (ON, OFF) if _is_list(document.get(key))}
    if not found:
        return text
    for key in found:
        document.remove(key)
    tables = [f"\n[[{key}]]\n{tomlkit.dumps(one)}" for key, rules in found.items() for one in rules]
    rest = tomlkit.dumps(document)
    return rest + ("" if rest.endswith("\n") or not rest else "\n") + "".join(tables)


def _is_list(value: Any) -> bool:
    return isinstance(value, tomlkit.items.Array)
