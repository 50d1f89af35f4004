"""Invented cafes of any size with plausible numbers, the same for the same seed.

The cabinet, guests, kitchen and rules are those of a cafe like the sample; what
grows is the choice: dishes, and with them ingredients, offers and stock. Grams,
prices, minutes and lives are drawn from ranges that a cafe would recognise.
"""

from __future__ import annotations

from datetime import date, time, timedelta
from random import Random
from typing import Any

from optimiser.cafe import (
    COMPONENT,
    Cafe,
    Course,
    Cover,
    DatedPrice,
    Dish,
    Form,
    Ingredient,
    Kitchen,
    Line,
    Lot,
    Offer,
    State,
    Supplier,
)
from optimiser.rules import default_rules, parse_rule
from optimiser.week import Week
from tests.benchmarks.ranges import (
    HEARTY,
    MINUTES,
    PROTEIN_G,
    RECIPES,
    RULES,
    SHARES,
    SHELVES,
    Range,
    Shelf,
)

START, PLANNED_ON, PLANNED_AT = date(2026, 11, 30), date(2026, 11, 27), time(9)


def generated_week(dishes: int, seed: int = 0) -> Week:
    """The week of an invented cafe with so many dishes, components included."""
    random = Random(f"cafe of {dishes} dishes, seed {seed}")
    pantry = _pantry(random, ingredients_for(dishes))
    menu = _menu(random, dishes, pantry)
    cafe = Cafe(
        name=f"Invented cafe of {dishes} dishes",
        courses={
            "salad": Course(slots=6, price_cents=580, take_up=1.5, portion_g=120),
            "main": Course(slots=3, price_cents=1250, take_up=0.6, portion_g=220),
            "grain": Course(slots=2, price_cents=480, take_up=0.55, portion_g=140),
            "soup": Course(slots=1, price_cents=900, take_up=0.2, portion_g=300),
        },
        plate={"main": 1, "grain": 1, "salad": 2},
        kitchen=Kitchen(
            hands_on_min=(780, 720, 780, 800, 840, 760, 0),
            oven_min=(150,) * 7,
            hob_min=(260,) * 7,
            processor_min=(30,) * 7,
        ),
        ingredients={one.id: one for one in pantry},
        suppliers={one.id: one for one in _suppliers()},
        offers=tuple(offer for one in pantry for offer in _offers(random, one)),
        dishes={dish.id: dish for dish in menu},
        stock=_stock(random, pantry, menu),
        covers={
            day: Cover(expected=guests, low=round(guests * 0.75), high=round(guests * 1.25))
            for day, guests in enumerate((70, 80, 85, 95, 105, 95))
        },
    )
    salads = [dish.id for dish in menu if dish.course == "salad"]
    wishes = ({"kind": "pin", "dish": salads[0], "day": "sat"}, {"kind": "bar", "dish": salads[1]})
    rules = default_rules(cafe, [parse_rule(settings) for settings in (*RULES, *wishes)])
    return Week(cafe, rules, START, PLANNED_ON, planned_at=PLANNED_AT)


def ingredients_for(dishes: int) -> int:
    """How many ingredients such a menu draws on: 110 for 70 dishes, 250 for 300."""
    return round(110 + (dishes - 70) * 140 / 230)


def _pantry(random: Random, wanted: int) -> list[Ingredient]:
    found = []
    for shelf in SHELVES:
        for number in range(1, max(1, round(shelf.share * wanted)) + 1):
            whole = shelf.form is Form.WHOLE
            found.append(
                Ingredient(
                    id=f"{shelf.name}_{number}",
                    name=f"{shelf.name.capitalize()} {number}",
                    group=shelf.group or shelf.name,
                    colour=random.choice(shelf.colours) if shelf.colours else None,
                    form=shelf.form,
                    piece_g=_within(random, shelf.piece_g, 10) if whole else None,
                    yield_pct=_within(random, shelf.yield_pct, 1),
                    keeps_days=random.randint(*shelf.keeps_days),
                    opened_keeps_days=random.randint(*shelf.opened_days),
                    protein_g=_within(random, shelf.protein_g, 0.1),
                    allergens=frozenset(),
                )
            )
    return found


def _suppliers() -> tuple[Supplier, ...]:
    def supplier(
        name: str, days: set[int], lead_days: int, least: int, fee: int, cut_off: int
    ) -> Supplier:
        return Supplier(id=name, name=name, delivers=frozenset(days), lead_days=lead_days,
                        minimum_order_cents=least, delivery_fee_cents=fee,
                        cut_off=time(cut_off))  # fmt: skip

    return (
        supplier("produce", {0, 2, 4}, 1, 12_000, 1200, 14),
        supplier("dry", {0, 3}, 2, 18_000, 1800, 12),
        supplier("soy", {0, 3}, 2, 7000, 800, 10),
        supplier("garden", {1, 4}, 1, 4500, 500, 17),
    )


def _offers(random: Random, thing: Ingredient) -> list[Offer]:
    """A small pack, often a large one that is dearer to fill and cheaper a kilo."""
    shelf = _shelf_of(thing)
    cents_per_g = random.uniform(*shelf.cents_per_kg) / 1000
    small, large = {"herb": (100, 500), "spice": (100, 500)}.get(shelf.name, (1000, 5000))
    sellers = [(shelf.supplier, 1.0)]
    if shelf.supplier == "produce" and random.random() < 0.5:
        sellers.append(("garden", random.uniform(0.9, 1.1)))
    offers = []
    for seller, dearness in sellers:
        for count, cheaper in ((1, 1.0), (6, random.uniform(0.86, 0.96))):
            if count > 1 and random.random() < 0.4:
                continue
            pieces = count if thing.piece_g else 0
            pack_g = pieces * thing.piece_g if thing.piece_g else (small if count == 1 else large)
            cents = max(5, 5 * round(cents_per_g * pack_g * dearness * cheaper / 5))
            offers.append(
                Offer(
                    ingredient=thing.id,
                    supplier=seller,
                    pack_qty=pieces or pack_g,
                    pack_unit="each" if pieces else "g",
                    pack_g=pack_g,
                    pieces=pieces,
                    prices=(DatedPrice(from_date=None, price_cents=cents),),
                )
            )
    return offers


def _menu(random: Random, dishes: int, pantry: list[Ingredient]) -> list[Dish]:
    """Components first, then what may be made of them."""
    counts = {course: max(3, round(share * dishes)) for course, share in SHARES.items()}
    counts["salad"] += dishes - sum(counts.values())
    parts = [_dish(random, COMPONENT, n, pantry, []) for n in range(counts.pop(COMPONENT))]
    sold = [
        _dish(random, course, number, pantry, parts)
        for course, count in counts.items()
        for number in range(count)
    ]
    return parts + sold


def _dish(
    random: Random, course: str, number: int, pantry: list[Ingredient], parts: list[Dish]
) -> Dish:
    portions = 20
    edible_g: dict[str, float] = {}
    by_id = {one.id: one for one in pantry}
    for names, grams in RECIPES[course]:
        edible_g[_pick(random, pantry, names).id] = random.uniform(*grams)
    if course in PROTEIN_G and (course == "main" or random.random() < 0.55):
        hearty = _pick(random, pantry, HEARTY)
        wanted_g = random.uniform(*PROTEIN_G[course])
        edible_g[hearty.id] = min(100.0, wanted_g * 100 / (hearty.protein_g or 1))
    lines = [
        _line(item, grams * portions, by_id[item].yield_pct, by_id[item].colour is not None)
        for item, grams in edible_g.items()
    ]
    if course in ("salad", "main") and parts and random.random() < 0.25:
        lines.append(_line(random.choice(parts).id, random.uniform(20, 40) * portions))
    raw = course == "salad" and random.random() < 0.45
    oven = course in ("salad", "main") and not raw and random.random() < 0.6
    hob = not raw and not oven
    once, per_ten = MINUTES[course]
    return Dish(
        id=f"{course}_dish_{number + 1}",
        name=f"{course.capitalize()} {number + 1}",
        course=course,
        portions=portions,
        portion_g={"salad": 120, "main": 220, "grain": 140, "soup": 300}.get(course, 100),
        step_portions=10 if course == "soup" else 5,
        min_portions=10,
        max_portions=random.choice((40, 60, 60)),
        hold_days=random.choice({"salad": (1, 2, 2), "soup": (3,)}.get(course, (2, 2, 3))),
        hands_on_min=round(random.uniform(*once)),
        hands_on_min_per_10=round(random.uniform(*per_ten)),
        oven_min=random.randint(20, 45) if oven else 0,
        hob_min=random.randint(8, 50) if hob else 0,
        processor_min=random.choice((0, 0, 0, 0, 5)),
        appeal=round(random.uniform(0.9, 1.15), 2),
        method="raw" if raw else "roasted" if oven else "simmered",
        lines=tuple(lines),
    )


def _line(item: str, edible_g: float, yield_pct: float = 100.0, visible: bool = True) -> Line:
    grams = round(edible_g, 1)
    return Line(
        item=item, qty=grams, unit="g", edible_g=grams, yield_pct=yield_pct, visible=visible
    )


def _stock(random: Random, pantry: list[Ingredient], menu: list[Dish]) -> tuple[Lot, ...]:
    """A count on the planning day: some of everything, a few things soon past it."""
    rows: list[dict[str, Any]] = []
    for one in pantry:
        if random.random() > (0.6 if one.form is Form.DRY else 0.35):
            continue
        life = random.randint(3, 3 + one.keeps_days // 2)
        if one.form is Form.DRY:
            rows.append(_lot(one.id, random.uniform(300, 4000), None))
        elif one.piece_g is None:
            rows.append(_lot(one.id, random.uniform(400, 3000), life))
        else:
            units = random.randint(4, 12) if life > 30 else random.randint(1, 3)
            rows.append(_lot(one.id, units * one.piece_g, life, units=units))
            if random.random() < 0.3:
                state = {"state": State.OPENED}
                rows.append(_lot(one.id, one.piece_g / 2, random.randint(3, 5), **state))
    parts = [dish for dish in menu if dish.course == COMPONENT]
    for dish in parts[:3]:
        rows.append(_lot(dish.id, random.uniform(500, 1800), 3, state=State.COOKED))
    return tuple(Lot(id=f"stock-{number}", **row) for number, row in enumerate(rows, 1))


def _lot(item: str, grams: float, life_days: int | None, **changes: Any) -> dict[str, Any]:
    """A lot that lives so many days after the planning day."""
    whole_g = float(round(grams))
    use_by = None if life_days is None else PLANNED_ON + timedelta(days=life_days)
    row = {"item": item, "qty": whole_g, "unit": "g", "grams": whole_g, "use_by": use_by}
    return row | {"state": State.WHOLE} | changes


def _pick(random: Random, pantry: list[Ingredient], names: tuple[str, ...]) -> Ingredient:
    """One ingredient of these shelves; a kitchen goes back to its favourites."""
    choices = [one for one in pantry if one.id.rpartition("_")[0] in names]
    favour = [1 / int(one.id.rpartition("_")[2]) ** 0.5 for one in choices]
    return random.choices(choices, favour)[0]


def _shelf_of(thing: Ingredient) -> Shelf:
    return next(shelf for shelf in SHELVES if shelf.name == thing.id.rpartition("_")[0])


def _within(random: Random, limits: Range, step: float) -> float:
    """A value in the range, in whole steps."""
    return round(round(random.uniform(*limits) / step) * step, 3)
