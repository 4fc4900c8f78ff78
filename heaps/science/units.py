"""Exact factors between the units of sources, spades and scales. Inside all is kg, litres and Celsius."""

#: By definition (international yard and pound 1959; UK Units of Measurement Regulations 1995; NIST HB 44).
POUND_KG = 0.45359237
INCH_CM = 2.54
CUBIC_YARD_L = 764.554857984  # (0.9144 m)^3
GALLON_IMPERIAL_L = 4.54609
GALLON_US_L = 3.785411784
KG_M3_PER_LB_YD3 = POUND_KG / CUBIC_YARD_L * 1000


def density_kg_m3(mass_kg: float, volume_l: float) -> float:
    """Bulk density in kg per cubic metre of a weighed or reckoned load. The volume must not be nothing."""
    return mass_kg / volume_l * 1000


def celsius(fahrenheit: float) -> float:
    """Degrees Celsius of a Fahrenheit thermometer."""
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius: float) -> float:
    """Degrees Fahrenheit of a Celsius thermometer."""
    return celsius * 1.8 + 32
