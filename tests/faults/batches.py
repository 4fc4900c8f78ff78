"""Entries as a phone keeps them, for the ground of `tests.serving.GROUND`."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from tests.faults.bases import Base


class Ground:
    """The site and the bays by their numbers."""

    def __init__(self, base: Base) -> None:
        found = base.rows("select s.uid, b.name, b.uid from heaps_bay b join heaps_site s on s.id = b.site_id")
        self.site = str(uuid.UUID(str(found[0][0])))
        self.bays = {name: str(uuid.UUID(str(uid))) for _site, name, uid in found}

    def entry(self, kind: str, bay: str | None, minutes_ago: float = 0, **details: Any) -> dict[str, Any]:
        happened = datetime.now(UTC) - timedelta(minutes=minutes_ago)
        return {
            "wire": 1, "uid": str(uuid.uuid4()), "kind": kind, "site": self.site,
            "bay": self.bays.get(bay, bay) if bay else None, "occurred_at": happened.isoformat(), "by_hand": False,
            "details": details, "words": "", "donor": None,
        }  # fmt: skip

    def coffee(self, minutes_ago: float = 0, bay: str = "Bay 1") -> dict[str, Any]:
        load = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
        return self.entry("dropoff", bay, minutes_ago, **load)

    def batch(self) -> tuple[list[dict[str, Any]], list[str]]:
        """One of each way through the door, and what becomes of each when it comes for the first time."""
        coffee = self.coffee(9)
        turn = self.entry("turn", "Bay 2", 5, sources=[{"bay": self.bays["Bay 1"], "per_cent": 50}])
        taken_back = self.entry("correction", None, 1, corrects=coffee["uid"], says="withdraw")
        entries = [
            coffee, self.coffee(8, "Bay 2"), turn, self.coffee(4), taken_back,
            self.entry("dropoff", str(uuid.uuid4()), 3, **coffee["details"]),
            self.entry("dropoff", "Bay 1", 2, **{**coffee["details"], "half_containers": -1}),
        ]  # fmt: skip
        return entries, ["accepted"] * 5 + ["parked", "refused"]
