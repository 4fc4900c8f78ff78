"""Which signs of a heap are to be looked at again, and by when."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from heaps.ledger import Batch
from heaps.science.signs import WEEK, watched


@dataclass(frozen=True)
class LookAgain:
    """A sign that was seen, or done something about, on a day; by when to look again. `word` is what it is called."""

    word: str
    keys: tuple[str, ...]
    seen_on: date
    by: date
    late: bool


def look_again(batch: Batch | None, day_of: Callable[[datetime], date], now: datetime) -> tuple[LookAgain, ...]:
    """The signs to look at again, the most urgent first. `day_of` is the site's own local day."""
    found = []
    for word, at in batch.signs.items() if batch else ():
        rows = watched(word)
        by = day_of(at) + timedelta(days=min((row.look_again_days for row in rows), default=WEEK))
        found.append(LookAgain(word, tuple(row.key for row in rows), day_of(at), by, by < day_of(now)))
    return tuple(sorted(found, key=lambda one: (one.by, one.word)))
