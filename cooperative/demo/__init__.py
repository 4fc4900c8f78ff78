"""An invented cooperative with a season behind it, filled through the same door as what a phone sends."""

from cooperative.demo.ground import PASSWORD, PEOPLE
from cooperative.demo.phones import fill

__all__ = ["PASSWORD", "PEOPLE", "fill"]
