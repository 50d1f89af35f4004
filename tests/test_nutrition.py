"""Hand-solved small cafes for everything that follows from a dish's lines."""

from __future__ import annotations

import gc
from time import perf_counter

import pytest

from optimiser import amino, nutrition
from optimiser.cafe import Cafe, Course, Dish, Form, Ingredient, Line


def ingredient(item: str, **facts: object) -> Ingredient:
    return Ingredient.model_validate({"id": item, "name": item, "form": Form.LOOSE, **facts})


def line(item: str, edible_g: float, yield_pct: float = 100.0, visible: bool = True) -> Line:
    return Line(
        item=item,
        qty=edible_g,
        unit="g",
        edible_g=edible_g,
        yield_pct=yield_pct,
        visible=visible,
    )


def dish(name: str, *lines: Line, portions: float = 1, portion_g: float = 100) -> Dish:
    return Dish(
        id=name, name=name, course="salad", portions=portions, portion_g=portion_g, lines=lines
    )


def cafe(*things: Ingredient | Dish) -> Cafe:
    return Cafe(
        name="Small",
        courses={"salad": Course(slots=1, price_cents=1000, take_up=1, portion_g=100)},
        ingredients={thing.id: thing for thing in things if isinstance(thing, Ingredient)},
        dishes={thing.id: thing for thing in things if isinstance(thing, Dish)},
    )


def one_dish(*ingredients: Ingredient) -> Cafe:
    """A dish `bowl` with 100 g of each ingredient."""
    return cafe(*ingredients, dish("bowl", *(line(one.id, 100) for one in ingredients)))


def grain_salad() -> Cafe:
    """600 g of cooked grain out of 200 g dry; 150 g of it goes into a salad for two."""
    return cafe(
        ingredient(
            "quinoa", colour="white", protein_g=14, amino_mg_per_g_protein={"lys": 50}, group="g"
        ),
        ingredient("oil", colour="yellow", protein_g=0, group="oil"),
        ingredient("kale", colour="green", protein_g=4, group="leaf"),
        ingredient("salt"),
        dish(
            "grain", line("quinoa", 200), line("oil", 12, visible=False), portions=4, portion_g=150
        ),
        dish(
            "salad",
            line("grain", 150),
            line("kale", 60, yield_pct=75),
            line("oil", 10),
            line("kale", 20, yield_pct=50),
            line("salt", 1, visible=False),
            portions=2,
            portion_g=120,
        ),
    )


def test_a_component_counts_by_the_finished_grams_that_go_into_the_dish() -> None:
    # 150 g of the component's 600 g is a quarter; two portions share it
    grams = nutrition.edible_parts(grain_salad(), "salad")
    assert grams == pytest.approx({"quinoa": 25, "oil": 1.5 + 5, "kale": 40, "salt": 0.5})


def test_a_component_is_itself_a_dish_with_parts_per_portion() -> None:
    assert nutrition.edible_parts(grain_salad(), "grain") == pytest.approx({"quinoa": 50, "oil": 3})


def test_the_same_lines_read_the_same_inside_a_component_or_outside() -> None:
    shared = (
        ingredient(
            "bean",
            colour="brown",
            protein_g=20,
            amino_mg_per_g_protein={"lys": 70},
            sodium_mg=12,
            fibre_g=16,
        ),
        ingredient(
            "corn",
            colour="yellow",
            protein_g=9,
            amino_mg_per_g_protein={"lys": 28},
            sodium_mg=15,
            fibre_g=2,
        ),
    )
    inner = dish("mix", line("bean", 40), line("corn", 60), portion_g=100)
    apart = cafe(*shared, inner, dish("bowl", line("mix", 100), line("corn", 15)))
    flat = cafe(*shared, dish("bowl", line("bean", 40), line("corn", 60), line("corn", 15)))
    for derived in (
        nutrition.edible_parts,
        nutrition.protein_g,
        nutrition.salt_g,
        nutrition.fibre_g,
        amino.amino_mg,
        nutrition.colours,
        nutrition.hero,
    ):
        assert derived(apart, "bowl") == derived(flat, "bowl")


def test_a_component_of_a_component_is_flattened_too() -> None:
    deep = cafe(
        ingredient("chilli", protein_g=10),
        dish("paste", line("chilli", 50), portion_g=50),
        dish("sauce", line("paste", 10), portion_g=40),
        dish("bowl", line("sauce", 20)),
    )
    # 20 of 40 g sauce: half of 10 g paste, which is chilli throughout
    assert nutrition.edible_parts(deep, "bowl") == pytest.approx({"chilli": 5})


def test_protein_adds_up_the_known_part_and_names_the_rest() -> None:
    # quinoa 25 g at 14 %, kale 40 g at 4 %; nobody has entered salt
    assert nutrition.protein_g(grain_salad(), "salad") == pytest.approx(3.5 + 1.6)
    assert nutrition.protein_unknown(grain_salad(), "salad") == ("salt",)
    assert nutrition.protein_unknown(grain_salad(), "grain") == ()


def test_salt_is_two_and_a_half_times_the_known_sodium() -> None:
    # EU Regulation 1169/2011, Annex I. 50 g at 400 mg and 10 g at 8000 mg: 1000 mg sodium
    bowl = cafe(
        ingredient("olive", sodium_mg=400),
        ingredient("soy_sauce", sodium_mg=8000),
        ingredient("kale"),
        dish("bowl", line("olive", 50), line("soy_sauce", 10), line("kale", 40)),
    )
    assert nutrition.salt_g(bowl, "bowl") == pytest.approx(2.5)
    assert nutrition.salt_unknown(bowl, "bowl") == ("kale",)


def test_fibre_adds_up_the_known_part_of_a_component_and_names_the_rest() -> None:
    deep = cafe(
        ingredient("bean", fibre_g=16),
        ingredient("rice"),
        dish("mash", line("bean", 200), line("rice", 40), portions=2, portion_g=100),
        dish("bowl", line("mash", 50), line("bean", 10)),
    )
    # 50 g of 200 g mash holds 50 g of beans; 60 g in all
    assert nutrition.fibre_g(deep, "bowl") == pytest.approx(9.6)
    assert nutrition.fibre_unknown(deep, "bowl") == ("rice",)
    assert nutrition.fibre_unknown(deep, "mash") == ("rice",)


# --- cost


def test_carrots_at_80_percent_are_bought_a_quarter_heavier() -> None:
    # BCcampus, Basic Kitchen and Food Service Management, ch. 12: 1 kg gives 800 g
    carrots = cafe(ingredient("carrot"), dish("bowl", line("carrot", 800, yield_pct=80)))
    costs = nutrition.portion_costs(carrots, "bowl", lambda item: 1.0)
    assert costs.purchased_cents == pytest.approx(1000)
    assert costs.edible_cents == pytest.approx(800)


def test_the_usable_price_is_the_price_over_the_yield() -> None:
    # Wall, Trade Calculations: 11.95 a kg at 88.5 % is 13.50
    beef = cafe(ingredient("roast"), dish("kilo", line("roast", 1000, yield_pct=88.5)))
    costs = nutrition.portion_costs(beef, "kilo", lambda item: 1195 / 1000)
    assert round(costs.purchased_cents) == 1350
    assert costs.edible_cents == pytest.approx(1195)


def test_a_recipe_for_five_costs_what_the_textbook_says() -> None:
    # Wall, Trade Calculations: 7.589 before rounding each line, 1.52 a portion
    cents_per_g = {
        "beef": 275 / 1000,
        "carrot": 65 / 1000,
        "onion": 595 / 1000,
        "flour": 2200 / 40_000,
        "stock": 1565 / 20_000,
    }
    grams = {"beef": 1500, "carrot": 120, "onion": 220, "flour": 220, "stock": 2500}
    stew = cafe(
        *(ingredient(item) for item in grams),
        dish("stew", *(line(item, mass) for item, mass in grams.items()), portions=5),
    )
    costs = nutrition.portion_costs(stew, "stew", cents_per_g.__getitem__)
    assert 5 * costs.purchased_cents == pytest.approx(758.9, abs=0.05)
    assert round(costs.purchased_cents) == 152


def test_food_cost_percent_and_target_price_are_each_others_inverse() -> None:
    four_dollars = nutrition.PortionCosts(purchased_cents=400, edible_cents=300)
    assert four_dollars.food_cost_pct(1600) == pytest.approx(25)  # Ontario Pork
    assert four_dollars.price_cents_for(25) == pytest.approx(1600)
    assert four_dollars.food_cost_pct(0) is None
    # holt.blue MTH 81: .86945 at 25 % is 3.48
    target = nutrition.PortionCosts(purchased_cents=86.945, edible_cents=86.945)
    assert round(target.price_cents_for(25)) == 348


def test_a_components_trim_is_paid_by_the_dish_that_uses_it() -> None:
    trimmed = cafe(
        ingredient("squash"),
        dish("roast", line("squash", 100, yield_pct=50), portion_g=80),
        dish("bowl", line("roast", 40)),
    )
    costs = nutrition.portion_costs(trimmed, "bowl", lambda item: 2.0)
    assert (costs.purchased_cents, costs.edible_cents) == pytest.approx((200, 100))


def test_a_label_reaches_into_hidden_lines_and_components() -> None:
    dressed = cafe(
        ingredient("soy_sauce", allergens=frozenset({"soy", "wheat"})),
        dish("dressing", line("soy_sauce", 10, visible=False), portion_g=10),
        dish("bowl", line("dressing", 5, visible=False)),
    )
    assert nutrition.allergens(dressed, "bowl").contains == {"soy", "wheat"}
    assert nutrition.diet(dressed, "bowl", "gluten_free") == "no"


# --- colours and hero


def test_colours_go_by_visible_mass_most_first() -> None:
    # quinoa 25 g white, oil 5 g of its 6.5 g visible, kale 40 g green: 5/70 is under 8 %
    assert nutrition.colours(grain_salad(), "salad") == ("green", "white")
    assert nutrition.main_colour(grain_salad(), "salad") == "green"


@pytest.mark.parametrize(("red_g", "counts"), [(8.0, True), (7.9, False)])
def test_a_colour_counts_from_8_percent_of_the_visible_coloured_mass(
    red_g: float, counts: bool
) -> None:
    bowl = cafe(
        ingredient("tomato", colour="red"),
        ingredient("leaf", colour="green"),
        ingredient("water"),
        ingredient("beet", colour="purple"),
        dish(
            "bowl",
            line("tomato", red_g),
            line("leaf", 100 - red_g),
            line("water", 500),
            line("beet", 300, visible=False),
        ),
    )
    assert ("red" in nutrition.colours(bowl, "bowl")) is counts
    assert "purple" not in nutrition.colours(bowl, "bowl")


def test_colours_of_equal_mass_are_ordered_by_name() -> None:
    bowl = one_dish(ingredient("a", colour="red"), ingredient("b", colour="green"))
    assert nutrition.colours(bowl, "bowl") == ("green", "red")


def test_a_hidden_component_shows_nothing() -> None:
    hidden = cafe(
        ingredient("beet", colour="purple"),
        dish("dip", line("beet", 100)),
        dish("bowl", line("dip", 100, visible=False)),
    )
    assert nutrition.colours(hidden, "dip") == ("purple",)
    assert nutrition.colours(hidden, "bowl") == ()
    assert nutrition.main_colour(hidden, "bowl") is None
    assert nutrition.hero(hidden, "bowl") is None


@pytest.mark.parametrize("group", ["oil", "spice", "water", "salt", "pantry", "sauce"])
def test_the_hero_is_the_heaviest_visible_food_and_never_what_carries_it(group: str) -> None:
    bowl = cafe(
        ingredient("base", group=group),
        ingredient("bean", group="pulse"),
        ingredient("herb", group="herb"),
        ingredient("beet", group="root"),
        dish(
            "bowl",
            line("base", 500),
            line("bean", 60),
            line("herb", 20),
            line("beet", 90, visible=False),
        ),
    )
    assert nutrition.hero(bowl, "bowl") == "bean"


def test_heroes_of_equal_mass_are_ordered_by_id() -> None:
    assert nutrition.hero(one_dish(ingredient("pea"), ingredient("bean")), "bowl") == "bean"


# --- the cache


def test_a_changed_cafe_is_read_afresh_and_the_old_one_is_forgotten() -> None:
    before = grain_salad()
    assert nutrition.protein_g(before, "grain") == pytest.approx(7)
    leaner = before.dishes["grain"].model_copy(update={"lines": (line("quinoa", 100),)})
    after = before.model_copy(update={"dishes": {**before.dishes, "grain": leaner}})
    assert nutrition.protein_g(after, "grain") == pytest.approx(3.5)
    key = id(before)
    assert key in nutrition._parts_of_cafe
    del before
    gc.collect()
    assert key not in nutrition._parts_of_cafe
    assert nutrition.protein_g(after, "grain") == pytest.approx(3.5)


def test_a_caller_cannot_spoil_the_cache() -> None:
    salad = grain_salad()
    nutrition.edible_parts(salad, "salad").clear()
    nutrition.parts(salad, "salad").clear()
    assert nutrition.edible_parts(salad, "salad")


def test_three_hundred_dishes_are_derived_well_within_a_second() -> None:
    things = [
        ingredient(
            f"i{n}",
            protein_g=n % 20,
            amino_mg_per_g_protein={"lys": 50},
            colour=f"c{n % 7}",
            allergens=frozenset(),
        )
        for n in range(100)
    ]
    dishes = [
        dish(f"d{n}", *(line(f"i{(7 * n + k) % 100}", 10 + k) for k in range(14)))
        for n in range(300)
    ]
    large = cafe(*things, *dishes)
    start = perf_counter()
    for one in dishes:
        nutrition.colours(large, one.id)
        nutrition.hero(large, one.id)
        amino.score(large, {one.id: 1}, {"lys": 48})
        nutrition.diet(large, one.id, "vegan")
    assert perf_counter() - start < 1.0
