"""The scores as people read them, and whether what was aimed at was reached."""

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import timedelta
from io import StringIO
from math import exp

from cooperative.twin.foretelling import Way
from cooperative.twin.scoring import Line, Score, Scored

#: Where the share of ranges of 80 % that hold should lie, and what was aimed at beside the rule of thumb.
HONEST = (0.75, 0.92)
BAGS_AT_NONE, DATE_FROM_ONE = 0.75, 1.05

HEADING = f"{'':34} harvests  heaps    bags: held [95 %]       error  width     date: held [95 %]    error  width"


def table(title: str, rows: Iterable[Scored]) -> str:
    """One world."""
    return "\n".join([title, HEADING, *(_row(one) for one in rows)])


def goals(worlds: Mapping[str, Sequence[Scored]], pooled: Sequence[Scored]) -> list[tuple[str, bool]]:
    """What was aimed at, with what came out, and whether it was reached."""
    found = []
    for name, rows in worlds.items():
        for one in (one for one in rows if one.way is Way.READ):
            for what, score in _outputs(one):
                found.append((f"{name}, {one.harvests} harvests: {what} held {_held(score)}", _honest(score)))
    both = {(one.way, one.harvests): one for one in pooled}
    for (_, count), read in ((key, one) for key, one in both.items() if key[0] is Way.READ):
        rule = both[Way.RULE, count]
        bags = read.bags.error / rule.bags.error
        found.append((f"bags after {count}: {bags:.2f} of the rule of thumb's error", bags < 1))
        if not count:
            found.append((f"bags after 0: at most {BAGS_AT_NONE} of it", bags <= BAGS_AT_NONE))
        elif read.date and rule.date:
            date = read.date.error / rule.date.error
            found.append((f"date after {count}: {date:.2f} of the rule of thumb's error", date <= DATE_FROM_ONE))
    return found


def plain(rows: Iterable[Scored]) -> list[dict[str, object]]:
    """For a program."""
    return [
        {
            "way": one.way.value,
            "harvests": one.harvests,
            "heaps": one.heaps,
            **{
                f"{what}_{name}": round(value, 4)
                for what, score in _outputs(one)
                for name, value in vars(score).items()
            },
        }
        for one in rows
    ]


def as_csv(lines: Iterable[Line]) -> str:
    """Each forecast on a line: eight of ten lie between low and high."""
    text = StringIO()
    out = csv.writer(text, lineterminator="\n")
    shares = ("low", "middle", "high")
    out.writerow(["heap", "way", "harvests", *(f"bags_{one}" for one in shares), *(f"ready_{one}" for one in shares)])
    for one in lines:
        out.writerow([one.kept.heap, one.way.value, one.harvests, *_ranges(one)])
    return text.getvalue()


def _ranges(one: Line) -> Iterator[object]:
    shares = (0.1, 0.5, 0.9)
    yield from (round(exp(one.said.bags.at(share)), 2) for share in shares)
    yield from (one.kept.closed + timedelta(days=round(exp(one.said.days.at(share)))) for share in shares)


def _outputs(one: Scored) -> list[tuple[str, Score]]:
    return [("bags", one.bags), *([("date", one.date)] if one.date else [])]


def _row(one: Scored) -> str:
    bags = f"{_held(one.bags)} {one.bags.error:9.0%} {one.bags.width:6.1f}"
    date = f"{_held(one.date)} {one.date.error:6.0f} d {one.date.width:5.0f} d" if one.date else "not known"
    return f"{one.way.value:34} {one.harvests:8} {one.heaps:6}    {bags}     {date}"


def _held(score: Score) -> str:
    return f"{score.held:.2f} [{score.low:.2f} to {score.high:.2f}]"


def _honest(score: Score) -> bool:
    """The interval and what is honest meet."""
    return score.low <= HONEST[1] and score.high >= HONEST[0]
