"""Old notebooks and temperature loggers, brought in through the same door as what a phone sends."""

from heaps.importing.ground import Ground
from heaps.importing.intake import Bad, Found, Tally, bring_in
from heaps.importing.reasons import Unreadable
from heaps.importing.tables import Table

__all__ = ["Bad", "Found", "Ground", "Table", "Tally", "Unreadable", "bring_in"]
