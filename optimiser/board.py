"""The week board of a plan: what is cooked, shown and ordered, against the facts.

Slots, lives of dishes, batch sizes and deliveries: everything about a plan that
can be seen without following the food itself.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date

from optimiser.cafe import MOST_STRETCH_PCT
from optimiser.ground import Ground, day_plus
from optimiser.plan import Breach, Buy, Cook, Plan
from optimiser.replay import sold_portions


def board_breaches(plan: Plan, ground: Ground) -> Iterator[Breach]:
    """What is wrong with cooks, showings and orders."""
    yield from _slots(plan, ground)
    yield from _places(plan)
    for cook in plan.cooks:
        yield from _batch(cook, plan, ground)
        yield from _shares(cook, plan, ground)
        yield from _showing(cook, ground)
    yield from _stretched(plan, ground)
    yield from _orders(plan, ground)


def _slots(plan: Plan, ground: Ground) -> Iterator[Breach]:
    filled = Counter((row.date, row.course) for row in plan.shown)
    for day in ground.days:
        for course, facts in ground.cafe.courses.items():
            have = filled[day, course]
            if have != facts.slots:
                text = f"{day}: {have} dishes shown as {course}, {facts.slots} have their place"
                yield _menu(text, day, course, abs(have - facts.slots))
    for row in plan.shown:
        dish = ground.cafe.dishes[row.dish]
        if dish.course != row.course:
            text = f"{row.date}: {dish.name} is shown as {row.course}, but is a {dish.course}"
            yield _menu(text, row.date, row.dish)


def _places(plan: Plan) -> Iterator[Breach]:
    """The dishes of a course stand on the places 1 to n of their row."""
    taken: dict[tuple[date, str], list[int]] = defaultdict(list)
    for row in plan.shown:
        taken[row.date, row.course].append(row.place)
    for (day, course), places in taken.items():
        if sorted(places) != list(range(1, len(places) + 1)):
            listed = ", ".join(str(place) for place in sorted(places))
            text = f"{day}: {len(places)} dishes shown as {course} have the places {listed}"
            yield _menu(text, day, course)


def _batch(cook: Cook, plan: Plan, ground: Ground) -> Iterator[Breach]:
    dish = ground.cafe.dishes[cook.dish]
    what = f"{dish.name} cooked on {cook.date}: {cook.portions} portions"
    sold = sold_portions(plan, cook)
    if sold > cook.portions:
        yield _menu(f"{what}, but {sold} are shown", cook.date, cook.dish, sold - cook.portions)
    if cook.portions <= 0:
        yield _menu(f"{what}, which is no cook", cook.date, cook.dish)
    if cook.portions % dish.step_portions:
        text = f"{what} is no multiple of its step of {dish.step_portions}"
        yield _menu(text, cook.date, cook.dish, cook.portions % dish.step_portions)
    if cook.portions < dish.min_portions:
        short = dish.min_portions - cook.portions
        yield _menu(f"{what}, at least {dish.min_portions} needed", cook.date, cook.dish, short)
    if cook.portions > dish.max_portions:
        over = cook.portions - dish.max_portions
        yield _menu(f"{what}, at most {dish.max_portions} fit", cook.date, cook.dish, over)


def _shares(cook: Cook, plan: Plan, ground: Ground) -> Iterator[Breach]:
    """What is sold of a cook is a batch of its own, spread over its days like the guests."""
    dish = ground.cafe.dishes[cook.dish]
    sold = sold_portions(plan, cook)
    what = f"{dish.name} cooked on {cook.date}"
    parts = {line.item for other in ground.cafe.dishes.values() for line in other.lines}
    if cook.portions > sold and cook.dish not in parts:
        text = f"{what}: {cook.portions - sold} portions are neither shown nor part of a dish"
        yield _menu(text, cook.date, cook.dish, cook.portions - sold)
    if not cook.shown or dish.course not in ground.cafe.courses:
        return  # a part has no guests of its own; that it cannot be shown is said elsewhere
    if sold % dish.step_portions or sold < max(1, dish.min_portions):
        yield _menu(f"{what}: {sold} portions are shown, which is no batch", cook.date, cook.dish)
    wanted = {day: ground.expected_sold(dish, [day], math.inf) for day in cook.shown}
    total = sum(wanted.values())
    for row in plan.shown:
        if (row.dish, row.cooked_on) == (cook.dish, cook.date) and row.date in wanted:
            share = wanted[row.date] / total if total else 1 / len(wanted)
            if abs(row.portions - sold * share) > 1:
                text = f"{what}: {row.portions} portions on {row.date}, the guests' share is"
                yield _menu(f"{text} {sold * share:.1f}", row.date, cook.dish)


def _stretched(plan: Plan, ground: Ground) -> Iterator[Breach]:
    """Only flexible lines give, only where a rule lets them, and never by more than half."""
    allowed = any(rule.stretches for rule in ground.week.rules)
    cooks = {(cook.dish, cook.date): cook.portions for cook in plan.cooks}
    for row in plan.stretched:
        name = f"{ground.cafe.name_of(row.dish)} cooked on {row.date}"
        what = f"{name}: {row.more_g:.2f} g more of {ground.cafe.name_of(row.item)}"
        if not allowed:
            yield _menu(f"{what}, but no rule lets recipes stretch", row.date, row.item)
            continue
        portions = cooks.get((row.dish, row.date), 0)
        most_g = ground.flexible_g(row.dish, row.item) * portions * MOST_STRETCH_PCT / 100
        if abs(row.more_g) > most_g + 0.01:
            text = f"{what}, its flexible lines may give {most_g:.2f} g"
            yield _menu(text, row.date, row.item, abs(row.more_g) - most_g)


def _showing(cook: Cook, ground: Ground) -> Iterator[Breach]:
    """Shown on consecutive open days, soon enough after cooking, within its life."""
    if not cook.shown:
        return
    name = ground.cafe.name_of(cook.dish)
    what = f"{name} cooked on {cook.date}"
    first, last = cook.shown[0], cook.shown[-1]
    at = ground.days.index(first)
    if cook.shown != ground.days[at : at + len(cook.shown)]:
        listed = ", ".join(str(day) for day in cook.shown)
        yield _menu(f"{what}: shown on {listed}, not on open days in a row", first, cook.dish)
    if min(cook.shown) < cook.date:
        yield _menu(f"{what}: shown on {min(cook.shown)}, before that", first, cook.dish)
    ahead = ground.cafe.kitchen.cook_ahead_days
    if (first - cook.date).days > ahead:
        text = f"{what}: first shown on {first}, more than {ahead} days after cooking"
        yield _menu(text, first, cook.dish, (first - cook.date).days - ahead)
    end = day_plus(cook.date, ground.life_days(cook.dish) - 1)
    if max(cook.shown) > end:
        text = f"{what}: shown on {max(cook.shown)}, but its last day is {end}"
        yield _menu(text, last, cook.dish, (max(cook.shown) - end).days)


def _menu(text: str, day: date, item: str, amount: float = 1.0) -> Breach:
    return Breach(rule="menu", text=text, amount=amount, day=day, item=item)


def _orders(plan: Plan, ground: Ground) -> Iterator[Breach]:
    totals: dict[tuple[date, str], int] = defaultdict(int)
    for buy in plan.buys:
        totals[buy.deliver_on, buy.supplier] += buy.cost_cents
        yield from _packs(buy, ground)
    for (day, supplier_id), cents in totals.items():
        supplier = ground.cafe.suppliers[supplier_id]
        why = ground.no_delivery(supplier, day)
        if why:
            text = f"order from {supplier.name} for {day}: {why}"
            yield Breach(rule="orders", text=text, day=day, item=supplier_id)
        short = supplier.minimum_order_cents - cents
        if short > 0:
            text = (
                f"order from {supplier.name} for {day}: {cents} cents, "
                f"the minimum is {supplier.minimum_order_cents}"
            )
            yield Breach(rule="orders", text=text, amount=short, day=day, item=supplier_id)


def _packs(buy: Buy, ground: Ground) -> Iterator[Breach]:
    supplier = ground.cafe.suppliers[buy.supplier]
    what = (
        f"{buy.packs} packs of {buy.pack_qty:g} {buy.pack_unit} "
        f"{ground.cafe.name_of(buy.ingredient)} from {supplier.name} for {buy.deliver_on}"
    )
    offer = ground.offer_of(buy)
    price = None
    if offer is None:
        text: str | None = f"{what}: there is no such offer"
    else:
        price = ground.pack_cents(offer, day_plus(buy.deliver_on, -supplier.lead_days))
        text = f"{what}: it has no price yet on the day of ordering" if price is None else None
    amount = 1.0
    if price is not None and buy.cost_cents != buy.packs * price:
        text = f"{what}: costs {buy.cost_cents} cents, should be {buy.packs * price}"
        amount = abs(buy.cost_cents - buy.packs * price)
    if offer is not None and buy.deliver_on in offer.missing_on:
        text, amount = f"{what}: the van comes without it that day", buy.packs
    if text:
        day, item = buy.deliver_on, buy.ingredient
        yield Breach(rule="orders", text=text, amount=amount, day=day, item=item)
