"""Whether the rows of a plan can be read at all: known names, days, plain numbers.

A plan may come from a file edited by hand. Everything named here is checked
first, so that the replay that follows never meets an unknown id or a number
that is none.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from datetime import date

from optimiser.ground import Ground
from optimiser.plan import TERMS, Binned, Breach, Left, Plan, Record, Stretch, Use

MOST = 1e9
"""No amount of grams, packs, pieces or portions in a week comes near this."""

MOST_CENTS = 1e13


def malformed(plan: Plan, ground: Ground) -> list[Breach]:
    """Everything that cannot be understood by itself, one sentence each."""
    return [
        *_header(plan, ground),
        *_names(plan, ground),
        *_days(plan, ground),
        *_numbers(plan),
        *_repeats(plan),
    ]


def unconnected(plan: Plan, ground: Ground) -> list[Breach]:
    """Rows of a well-formed plan that name a cook, a showing or a lot that is not in it."""
    return [*_belonging(plan, ground), *_lots(plan, ground)]


def row_name(row: Record) -> str:
    """How a row of a plan is called in a breach: its kind and what it names."""
    values = row.__dict__
    named = [str(values[key]) for key in _NAMING if values.get(key) not in (None, "")]
    return f"{type(row).__name__.lower()} row {' '.join(named)}"


_NAMING = ("date", "deliver_on", "supplier", "ingredient", "dish", "item", "lot")


def _rows(plan: Plan) -> Iterator[Record]:
    yield from plan.stretched
    for table in (plan.cooks, plan.shown, plan.buys, plan.opens, plan.uses, plan.left, plan.binned):
        yield from table


def _bad(row: Record, text: str, item: str | None = None) -> Breach:
    day = getattr(row, "date", None) or getattr(row, "deliver_on", None)
    return Breach(rule="plan", text=f"{row_name(row)}: {text}", day=day, item=item)


def _header(plan: Plan, ground: Ground) -> Iterator[Breach]:
    week = ground.week
    pairs = (
        ("week", plan.week, week.start),
        ("days", plan.days, week.days),
        ("planned_on", plan.planned_on, week.planned_on),
        ("currency", plan.currency, ground.cafe.currency),
    )
    for name, given, due in pairs:
        if given != due:
            yield Breach(rule="plan", text=f"{name} is {given}, but this week's is {due}")
    if set(plan.terms_cents) != set(TERMS):
        odd = ", ".join(sorted(set(plan.terms_cents) ^ set(TERMS)))
        yield Breach(rule="plan", text=f"terms_cents has missing or unknown terms: {odd}")


def _names(plan: Plan, ground: Ground) -> Iterator[Breach]:
    cafe = ground.cafe
    known: dict[str, Iterable[str]] = {
        "dish": cafe.dishes,
        "ingredient": cafe.ingredients,
        "supplier": cafe.suppliers,
        "course": cafe.courses,
        "item": {*cafe.dishes, *cafe.ingredients},
    }
    for row in _rows(plan):
        for field, ids in known.items():
            value = getattr(row, field, None)
            if value is not None and value not in ids:
                yield _bad(row, f"the cafe has no {field} called {value!r}", str(value))


def _days(plan: Plan, ground: Ground) -> Iterator[Breach]:
    open_days = set(ground.days)
    span = f"{ground.days[0]} to {ground.days[-1]}"
    for row in _rows(plan):
        fields = [(key, getattr(row, key, None)) for key in ("date", "deliver_on", "cooked_on")]
        dated: list[tuple[str, date]] = [(key, day) for key, day in fields if day is not None]
        dated += [("shown", day) for day in getattr(row, "shown", ())]
        if isinstance(row, Binned):
            continue  # a life may end on a closed day; the recount knows which
        for key, day in dated:
            if day not in open_days:
                yield _bad(row, f"{key} {day} is not an open day of the week {span}")


def _numbers(plan: Plan) -> Iterator[Breach]:
    whole = {"portions": 0, "place": 0, "packs": 1, "units": 1}
    for row in _rows(plan):
        for field, value in row.__dict__.items():
            if field in whole and not _whole(value, whole[field], MOST):
                least = f"not a whole number of at least {whole[field]}"
                yield _bad(row, f"{field} is {_cut(value)}, {least}")
            elif field in ("grams", "pack_qty") and not _amount(value):
                yield _bad(row, f"{field} is {_cut(value)}, not an amount of food")
            elif field == "more_g" and not _amount(abs(value)):
                yield _bad(row, f"{field} is {_cut(value)}, not an amount of food")
            elif field.endswith("_cents") and not _whole(value, 0, MOST_CENTS):
                yield _bad(row, f"{field} is {_cut(value)}, not a sum of money in whole cents")
    sums = {"objective_cents": plan.objective_cents, **plan.terms_cents}
    if plan.bound_cents is not None:
        sums["bound_cents"] = plan.bound_cents
    for name, value in sums.items():
        if not _whole(value, -MOST_CENTS, MOST_CENTS):
            yield Breach(rule="plan", text=f"{name} is {_cut(value)}, not a sum of money in cents")


def _whole(value: object, least: float, most: float) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most


def _amount(value: object) -> bool:
    """False for what is no number, not finite, negative or absurd."""
    return isinstance(value, int | float) and 0 <= value <= MOST


def _cut(value: object) -> str:
    if isinstance(value, int) and abs(value) > MOST_CENTS:
        return "a huge number"  # Python refuses to write out integers of thousands of digits
    return str(value)[:40]


def _repeats(plan: Plan) -> Iterator[Breach]:
    keyed: list[tuple[Record, Hashable, str]] = [
        *((r, (r.date, r.dish), "a dish is cooked once a day") for r in plan.cooks),
        *((r, (r.date, r.dish), "a dish is shown once a day") for r in plan.shown),
        *(
            (r, (r.deliver_on, r.supplier, r.ingredient, r.pack_qty, r.pack_unit), _ONE_OFFER)
            for r in plan.buys
        ),
        *((r, (r.date, r.dish, r.item), "a line is stretched once") for r in plan.stretched),
        *((r, r.lot, "a lot is left over once") for r in plan.left),
        *((r, r.lot or (r.date, r.item), "a lot is binned once") for r in plan.binned),
    ]
    seen: set[Hashable] = set()
    for row, key, why in keyed:
        if (type(row), key) in seen:
            yield _bad(row, f"there is a second row like it; {why}")
        seen.add((type(row), key))


_ONE_OFFER = "one row holds all packs of an offer and a delivery"


def _belonging(plan: Plan, ground: Ground) -> Iterator[Breach]:
    """Showings and cooks name each other, both ways; a use names a cook."""
    cooks = {(cook.dish, cook.date) for cook in plan.cooks}
    promised = {(cook.dish, cook.date, day) for cook in plan.cooks for day in cook.shown}
    kept = {(row.dish, row.cooked_on, row.date) for row in plan.shown}
    for dish, cooked_on, day in sorted(kept ^ promised):
        name = ground.cafe.name_of(dish)
        text = f"{name} cooked on {cooked_on} is to be shown on {day}, but no row shows it"
        if (dish, cooked_on, day) in kept:
            text = f"{day}: {name} is shown, but no cook of {cooked_on} is meant for that day"
        yield Breach(rule="plan", text=text, day=day, item=dish)
    food: tuple[Use | Stretch, ...] = (*plan.uses, *plan.stretched)
    for part in food:
        if (part.dish, part.date) not in cooks:
            text = f"{ground.cafe.name_of(part.dish)} is not cooked that day"
            yield _bad(part, text, part.item)


def _lots(plan: Plan, ground: Ground) -> Iterator[Breach]:
    """Rows that name a lot nobody has: not in stock, bought, opened or cooked."""
    bought = {f"bought-{b.deliver_on}-{b.supplier}-{b.ingredient}" for b in plan.buys}
    as_bought = bought | {lot.id for lot in ground.cafe.stock}
    made = {f"opened-{o.date}-{o.lot}" for o in plan.opens}
    made |= {f"cooked-{c.date}-{c.dish}" for c in plan.cooks}
    for row in plan.opens:
        if row.lot not in as_bought:
            yield _bad(row, "this lot is neither in stock nor bought", row.ingredient)
    named: list[Use | Left | Binned] = [*plan.uses, *plan.left]
    named += [row for row in plan.binned if row.lot]  # unsold portions have no lot
    for use in named:
        if use.lot not in as_bought | made:
            yield _bad(use, f"no lot {use.lot!r} is in stock, bought, opened or cooked", use.item)
