"""What is kept of heaps that came to an end: what had been said, what came out, and what all of that teaches."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import reduce
from typing import Any

from heaps.models import KeptLesson
from heaps.science.living.foresight import Month, Months, Range
from heaps.science.living.outlook import Learning, Said

#: Raised by whoever changes what is kept: what an earlier release kept teaches nothing until it was made anew.
SHAPE = 3


@dataclass(frozen=True)
class Past:
    """A past forecast against what came: `ready_on` is the first day on which somebody called it ready, if one did."""

    site: str
    bay: str
    said_on: date
    ended_on: date
    foretold_bags: Range
    bags: float
    foretold_ready: Months
    ready_on: date | None
    bag_litres: int

    @property
    def whole_bags(self) -> int:
        """As they were foretold: in whole ones."""
        return max(1, round(self.bags))

    @property
    def bags_held(self) -> bool:
        """Whether they lay within the range as it was shown."""
        return round(self.foretold_bags.low) <= self.whole_bags <= max(1, round(self.foretold_bags.high))

    @property
    def month_held(self) -> bool | None:
        """Whether it was called ready within the months that were shown; None where nobody recorded it."""
        if self.ready_on is None:
            return None
        month = self.ready_on.year, self.ready_on.month
        first, last = self.foretold_ready.first, self.foretold_ready.last
        return (first.year, first.month) <= month and (last is None or month <= (last.year, last.month))


def learnt_here(until: date | None = None) -> Learning:
    """What this cooperative's harvests have taught: before a day, or by now."""
    kept = KeptLesson.objects.filter(says__shape=SHAPE)
    if until is not None:
        kept = kept.filter(ended_on__lt=until)
    return reduce(_after, kept.values_list("says", flat=True), Learning())


def past_forecasts() -> list[Past]:
    """All of them, the latest first, the bad ones too."""
    return [_past(one) for one in KeptLesson.objects.select_related("site", "bay")]


def _after(learnt: Learning, says: Mapping[str, Any]) -> Learning:
    """`days` is none where nobody recorded the first "ready": a harvest says only that it was ready by then."""
    said = Said(**says["said_bags"]), Said(**says["said_days"])
    return learnt.taught(said, says["bags"], says["days"], says["look"])


def _past(one: KeptLesson) -> Past:
    says = one.says
    first, last, ready_on = says["foretold_ready"]["first"], says["foretold_ready"]["last"], says["ready_on"]
    return Past(
        site=one.site.name,
        bay=one.bay.name,
        said_on=date.fromisoformat(says["said_on"]),
        ended_on=one.ended_on,
        foretold_bags=Range(**says["foretold_bags"]),
        bags=says["bags"],
        foretold_ready=Months(Month(**first), Month(**last) if last else None),
        ready_on=date.fromisoformat(ready_on) if ready_on else None,
        bag_litres=says["bag_litres"],
    )
