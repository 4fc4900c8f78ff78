"""From members and Student's t to ranges that people can trust: months, bags, bands by day."""

from datetime import date, timedelta

import numpy as np

from heaps.science.living.foresight import Band, Month, Months, Range
from heaps.science.living.learning import Student, condition
from heaps.science.living.parameters import NORMAL_80, Array
from heaps.science.living.readings import Seen

#: What the equations leave out, beside what the members differ by. Tried on heaps that another, more detailed model
#: made: without it the band of temperatures held 15 to 59 % of readings, with it 82 to 91 %.
MODEL_K, MODEL_FILL_LN = 6.0, 0.25


def eight_of_ten(ln: Student) -> Range:
    return Range(*(float(np.exp(ln.at(share))) for share in (0.1, 0.5, 0.9)))


def months(begins: date, closed: int, today: int, ln: Student, ready_share: float) -> Months:
    """From today on; past the time that was looked at there is no last month."""
    first, _, last = (begins + timedelta(days=closed + float(np.exp(ln.at(share)))) for share in (0.1, 0.5, 0.9))
    now = begins + timedelta(days=today)
    first, last = max(first, now), max(last, now)
    return Months(_month(first), _month(last) if ready_share >= 0.5 else None)


def _month(day: date) -> Month:
    return Month(day.year, day.month)


def band(members: Array, seen: Seen | None, model: float, begins: int) -> Band:
    """Days x members as ranges: shifted and narrowed by the readings, widened by what the equations leave out."""
    outputs = members[begins:]
    conditioned = condition(outputs, seen)
    moved = conditioned.mean - conditioned.mean_before
    kept = np.sqrt(conditioned.variance / np.maximum(conditioned.before, 1e-12))
    low, middle, high = np.quantile(outputs, (0.1, 0.5, 0.9), axis=1)
    left = np.hypot((middle - low) * kept, NORMAL_80 * model)
    right = np.hypot((high - middle) * kept, NORMAL_80 * model)
    now = middle + moved
    return Band(begins, tuple((now - left).tolist()), tuple(now.tolist()), tuple((now + right).tolist()))


def fill_band(share: Array, seen: Seen | None, begins: int) -> Band:
    ln = band(np.log(np.maximum(share, 1e-6)), seen, MODEL_FILL_LN, begins)
    low, middle, high = (tuple(np.exp(one).tolist()) for one in (ln.low, ln.middle, ln.high))
    return Band(begins, low, middle, high)
