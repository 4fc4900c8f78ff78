"""An invented cooperative of three sites with two years behind it, filled through the door that phones send to."""

from cooperative.demo.filling import fill, sign_ins
from cooperative.demo.people import PASSWORD, PEOPLE

__all__ = ["PASSWORD", "PEOPLE", "fill", "sign_ins"]
