"""What of a bay does not change with the heap in it."""

from datetime import date, datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo


class BayFacts(NamedTuple):
    """What does not change with the heap."""

    uid: str
    name: str
    kind: str
    is_leaf: bool
    volume_ml: int
    width_cm: int
    height_cm: int
    time_zone: str

    def day_of(self, moment: datetime) -> date:
        """The site's own local day."""
        return moment.astimezone(ZoneInfo(self.time_zone)).date()
