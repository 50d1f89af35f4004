"""Conversions, against GNU units 2.22 figures and published household weights."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimiser.units import (
    UNITS,
    VOLUMES,
    Measures,
    NotConvertible,
    grams_of_dish,
    grams_of_ingredient,
    millilitres,
)

AUSTRALIA = Measures(cup_ml=250, tbsp_ml=20)
BRITAIN = Measures(cup_ml=250, tbsp_ml=15)

# Run in GNU units 2.22: metriccup 250 ml, australiatablespoon 20 ml,
# britishtablespoon 15 ml, metric teaspoon 5 ml.
GNU_UNITS_ML = [
    ("cup", AUSTRALIA, 250.0),
    ("tbsp", AUSTRALIA, 20.0),
    ("tbsp", BRITAIN, 15.0),
    ("tsp", AUSTRALIA, 5.0),
    ("tsp", BRITAIN, 5.0),
    ("l", AUSTRALIA, 1000.0),
    ("ml", AUSTRALIA, 1.0),
]


@pytest.mark.parametrize(("unit", "measures", "expected_ml"), GNU_UNITS_ML)
def test_measures_agree_with_gnu_units(unit: str, measures: Measures, expected_ml: float) -> None:
    assert millilitres(1, unit, measures) == pytest.approx(expected_ml, rel=1e-12)


def test_a_us_cup_is_what_the_cafe_says_it_is() -> None:
    us = Measures(cup_ml=236.588236, tbsp_ml=14.7867648)
    assert millilitres(2, "cup", us) == pytest.approx(473.176472)
    assert millilitres(1, "tbsp", us) == pytest.approx(14.7867648)


def test_the_general_registry_of_pint_would_have_misread_a_kitchen() -> None:
    general = pint.UnitRegistry()
    assert general.Quantity(1, "cup").to("ml").magnitude == pytest.approx(236.588236)
    assert general.Quantity(1, "tbsp").to("ml").magnitude == pytest.approx(14.7867648)
    assert general.Quantity(1, "pinch").check("[length]")


@pytest.mark.parametrize("unit", ["pinch", "kcup", "G", "oz", "mg", "", "metric_cup", "g*g"])
def test_a_unit_outside_the_contract_is_refused(unit: str) -> None:
    with pytest.raises(NotConvertible, match="not a unit"):
        grams_of_ingredient(1, unit, AUSTRALIA, g_per_ml=1, piece_g=100)
    with pytest.raises(NotConvertible, match="not a unit"):
        grams_of_dish(1, unit, AUSTRALIA, portion_g=100)


def test_a_cup_of_dry_quinoa_weighs_what_its_density_says() -> None:
    # SR28: a US cup of dry quinoa weighs 170 g, so .7185 g/ml and 179.6 g a metric cup.
    density = 170 / 236.588236
    assert grams_of_ingredient(1, "cup", AUSTRALIA, g_per_ml=density) == pytest.approx(
        179.6, abs=0.1
    )


def test_masses_need_no_density() -> None:
    assert grams_of_ingredient(1.5, "kg", AUSTRALIA) == 1500
    assert grams_of_ingredient(3, "g", AUSTRALIA) == 3


def test_pieces_are_weighed_by_piece_g() -> None:
    assert grams_of_ingredient(2.5, "each", AUSTRALIA, piece_g=110) == 275


def test_a_portion_of_a_dish_weighs_portion_g() -> None:
    assert grams_of_dish(4, "portion", AUSTRALIA, portion_g=180) == 720
    assert grams_of_dish(0.72, "kg", AUSTRALIA, portion_g=180) == 720


@pytest.mark.parametrize("unit", VOLUMES)
def test_a_volume_of_unknown_density_asks_for_the_density(unit: str) -> None:
    with pytest.raises(NotConvertible, match="g_per_ml"):
        grams_of_ingredient(1, unit, AUSTRALIA, piece_g=100)


def test_a_piece_of_unknown_weight_asks_for_the_weight() -> None:
    with pytest.raises(NotConvertible, match="piece_g"):
        grams_of_ingredient(1, "each", AUSTRALIA, g_per_ml=1)


def test_an_ingredient_has_no_portions_and_a_dish_no_cups() -> None:
    with pytest.raises(NotConvertible, match="portions"):
        grams_of_ingredient(1, "portion", AUSTRALIA, g_per_ml=1, piece_g=1)
    for unit in (*VOLUMES, "each"):
        with pytest.raises(NotConvertible, match="g, kg or portion"):
            grams_of_dish(1, unit, AUSTRALIA, portion_g=100)


def test_a_mass_is_no_volume() -> None:
    with pytest.raises(NotConvertible, match="not a volume"):
        millilitres(1, "kg", AUSTRALIA)


@given(
    qty=st.floats(0.001, 1e6),
    unit=st.sampled_from([unit for unit in UNITS if unit != "portion"]),
    times=st.floats(0.1, 10),
)
def test_conversions_are_proportional(qty: float, unit: str, times: float) -> None:
    one = grams_of_ingredient(qty, unit, AUSTRALIA, g_per_ml=0.9, piece_g=120)
    many = grams_of_ingredient(qty * times, unit, AUSTRALIA, g_per_ml=0.9, piece_g=120)
    assert many == pytest.approx(one * times)
