"""How a model falls apart once some of its columns are held."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from optimiser.block import Block, Memory
from optimiser.groups import Groups
from optimiser.lp import Lp, Row, rule_number

SUPPLIER_MINIMUM = "minimum__"


def split(
    lp: Lp, held: Mapping[int, float], memory: Memory
) -> tuple[list[Block], list[Row], list[Row]]:
    """Blocks, rows of settled columns only, and rows that tie blocks together."""
    free = [j for j in range(len(lp.names)) if j not in held]
    groups = Groups(free)
    inside = {id(row): [j for j in row.terms if j not in held] for row in lp.rows}
    rules = [row for row in lp.rows if rule_number(row.name) is not None]
    ties = [row for row in lp.rows if row.name.startswith(SUPPLIER_MINIMUM)]
    apart = {id(row) for row in (*rules, *ties)}
    for row in lp.rows:
        if id(row) not in apart:
            groups.join(inside[id(row)])
    lumpy = {groups.of(j) for j in free if lp.integer[j]}
    for row in rules:
        if len({groups.of(j) for j in inside[id(row)]} & lumpy) > 1:
            ties.append(row)
    tied = {id(row) for row in ties}
    for row in rules:
        if id(row) not in tied:
            groups.join(inside[id(row)])
    columns: dict[int, list[int]] = defaultdict(list)
    for j in free:
        columns[groups.of(j)].append(j)
    rows: dict[int, list[Row]] = defaultdict(list)
    menu_rows = []
    for row in lp.rows:
        if id(row) in tied:
            continue
        if found := inside[id(row)]:
            rows[groups.of(found[0])].append(row)
        else:
            menu_rows.append(row)
    blocks = [Block(lp, own, rows[g], memory) for g, own in columns.items()]
    return blocks, menu_rows, ties
