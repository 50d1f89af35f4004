"""Which rules stand in the way of a menu, and what there is not enough of.

Cooked parts and vans are held as they are.
"""

from __future__ import annotations

from collections.abc import Callable

from optimiser.blocks import Blocks, Changes
from optimiser.lp import Row, rule_number

ALREADY = {"once": "already there that day", "one_cook": "already cooked that day"}


def of_rule(rule: int) -> Callable[[Row], bool]:
    """Tells the rows of one rule."""
    return lambda row: rule_number(row.name) == rule


def of_any_rule(row: Row) -> bool:
    """Whether a row is a rule's."""
    return rule_number(row.name) is not None


def everywhere(blocks: Blocks) -> Changes:
    """No change at all, of which every block is asked all the same."""
    return dict.fromkeys(blocks.settled, 0.0)


def broken_rules(blocks: Blocks, changes: Changes) -> set[int]:
    """Places in week.rules of those that a changed menu cannot keep."""
    found = {rule for name in _broken(blocks, changes) if (rule := rule_number(name)) is not None}
    for number in blocks.empty_handed(changes):
        if blocks.fits(number, changes, of_any_rule):
            found |= _blamed(blocks, number, changes)
    return found


def _blamed(blocks: Blocks, number: int, changes: Changes) -> set[int]:
    """Rules that a block cannot keep: each that is in the way alone, or else all of it."""
    names = [row.name for row in blocks.blocks[number].rows]
    rules = {rule for name in names if (rule := rule_number(name)) is not None}
    return {rule for rule in rules if blocks.fits(number, changes, of_rule(rule))} or rules


def double(blocks: Blocks, changes: Changes) -> list[str]:
    """What a changed menu has twice, in words."""
    kinds = [name.split("__")[0] for name in _broken(blocks, changes)]
    return sorted({ALREADY[kind] for kind in kinds if kind in ALREADY})


def short_of(blocks: Blocks, changes: Changes) -> set[str]:
    """Ids of what there is not enough of for a changed menu, whatever the rules."""
    empty = [
        number
        for number in blocks.empty_handed(changes)
        if not blocks.fits(number, changes, of_any_rule)
    ]
    names = [row.name for number in empty for row in blocks.blocks[number].rows]
    parts = [name.split("__") for name in (*names, *_broken(blocks, changes))]
    return {part[1] for part in parts if part[0] in ("cover", "no_supply")}


def _broken(blocks: Blocks, changes: Changes) -> list[str]:
    return [blocks.menu_rows.rows[n].name for n in blocks.menu_rows.broken(changes)]
