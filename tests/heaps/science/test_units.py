"""Every factor agrees with pint's own table of units."""

import pint
import pytest

from heaps.science import units

registry = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("ours", "unit", "target"),
    [
        (units.POUND_KG, "pound", "kilogram"),
        (units.INCH_CM, "inch", "centimeter"),
        (units.CUBIC_YARD_L, "yard ** 3", "liter"),
        (units.GALLON_IMPERIAL_L, "imperial_gallon", "liter"),
        (units.GALLON_US_L, "gallon", "liter"),
        (units.KG_M3_PER_LB_YD3, "pound / yard ** 3", "kilogram / meter ** 3"),
    ],
)
def test_factor_agrees_with_pint(ours: float, unit: str, target: str) -> None:
    assert ours == pytest.approx(registry.Quantity(1, unit).to(target).magnitude, rel=1e-12)


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 37.5, 55.0, 65.0, 100.0])
def test_temperature_agrees_with_pint_both_ways(celsius: float) -> None:
    fahrenheit = registry.Quantity(celsius, "degC").to("degF").magnitude
    assert units.fahrenheit(celsius) == pytest.approx(fahrenheit, abs=1e-9)
    assert units.celsius(fahrenheit) == pytest.approx(celsius, abs=1e-9)


def test_density_is_mass_over_volume() -> None:
    quantity = registry.Quantity(9, "kilogram") / registry.Quantity(20, "liter")
    assert units.density_kg_m3(9, 20) == pytest.approx(quantity.to("kilogram / meter ** 3").magnitude)
