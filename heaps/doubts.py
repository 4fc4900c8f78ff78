"""What a coordinator is asked about entries: unlikely dates, broken rules, what two people said of one load or turn."""

import uuid
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from django.db.models import Q
from django.utils.translation import gettext_noop as _

from heaps.history import Answers
from heaps.house_rules import against_the_rules
from heaps.models import Entry, Fresh, Question, many
from heaps.science.materials import Materials

TWICE_WITHIN = timedelta(minutes=30)
#: Stands in place of a phone beside what came from a notebook, where each line is a load of its own.
NOTEBOOK = uuid.UUID("6e0be0c5-2b1e-4c52-8f0e-3a1d5b9c7f10")
#: What is asked about an unlikely date, by the word of `wire.date_doubt`.
ODD_DATES = {
    "future": _("It is dated in the future."),
    "long ago": _("It is dated more than 60 days before it arrived."),
    "before 1990": _("It is dated before 1990."),
    "clocks": _("The phone's clock and that of the cooperative's computer were days apart. Is this the right day?"),
}


class Seen(NamedTuple):
    """What of an entry is looked at, to see whether it was recorded twice."""

    uid: uuid.UUID
    kind: str
    site_id: int
    bay_id: int | None
    effective_at: datetime
    details: dict[str, Any]
    person_id: int | None
    device: uuid.UUID | None


Sighted = Fresh | Seen


class Doubt(NamedTuple):
    """What is to be asked about an entry, and perhaps another."""

    why: Question.Why
    entry: Sighted
    says: str
    other: Sighted | None = None


def settle(rows: Sequence[Fresh], now: datetime) -> None:
    """A correction answers what was asked about its entry."""
    answered = [row.corrects for row in rows if row.corrects]
    if answered:
        about = Q(entry__uid__in=answered) | Q(other__uid__in=answered)
        Question.objects.filter(about, settled_at=None).update(settled_at=now)


def near(rows: Sequence[Fresh]) -> list[Seen]:
    """What had been tipped or turned at about the time of `rows` in the same bays, in the order of arrival.

    To be asked before they are stored.
    """
    new = _loads_and_turns(rows)
    if not new:
        return []
    first = min(row.effective_at for row in new) - TWICE_WITHIN
    last = max(row.effective_at for row in new) + TWICE_WITHIN
    bays = {row.bay_id for row in new}
    found = many.find(Entry, Seen._fields, span=("effective_at", first, last), bay_id=bays, kind=("dropoff", "turn"))
    return [Seen(*one) for one in found]


def ask(
    rows: Sequence[Fresh],
    near: Sequence[Seen],
    answers: Answers,
    odd_dates: Iterable[tuple[Fresh, str]],
    materials: Materials,
) -> None:
    """Ask about fresh `rows`: `near` is what was near them before, `odd_dates` says whose date is unlikely, and why.

    What is stored is translated when shown.
    """
    doubts = [Doubt(Question.Why.DATE, row, ODD_DATES[why]) for row, why in odd_dates]
    doubts += [*_broken_rules(rows, materials), *_changed_by_others(rows, answers), *_recorded_twice(rows, near)]
    spoken_of = {row.uid for doubt in doubts for row in (doubt.entry, doubt.other) if row}
    numbers = dict(many.find(Entry, ("uid", "id"), uid=spoken_of))  # few are asked about, so nobody else learns them
    questions = [
        Question(
            why=why,
            site_id=one.site_id,
            entry_id=numbers[one.uid],
            other_id=numbers[other.uid] if other else None,
            says=says,
        )
        for why, one, says, other in doubts
    ]
    Question.objects.bulk_create(questions)


def _broken_rules(rows: Sequence[Fresh], materials: Materials) -> list[Doubt]:
    """A load of what the site never takes was in before anybody could say so: a coordinator decides."""
    says = _("This site does not take this. Is it out again, or was it something else?")
    return [Doubt(Question.Why.RULE, row, says) for row in against_the_rules(rows, materials)]


def _changed_by_others(rows: Sequence[Fresh], answers: Answers) -> list[Doubt]:
    """A correction may come first. When it then meets an entry of somebody else, a coordinator decides."""
    arrived = {row.uid: row for row in rows if row.corrects is None} if answers else {}
    early = [(uid, answer.person_id) for uid in arrived for answer in answers.get(uid, ())]
    # two whose names are gone are not therefore one
    theirs = {uid for uid, person_id in early if person_id is None or person_id != arrived[uid].person_id}
    says = _("Somebody else had corrected this before it came in. Does the correction stand?")
    return [Doubt(Question.Why.EARLY, row, says) for row in arrived.values() if row.uid in theirs]


def _loads_and_turns(rows: Sequence[Fresh]) -> list[Fresh]:
    return [row for row in rows if row.kind in ("dropoff", "turn")]


def _recorded_twice(rows: Sequence[Fresh], near: Sequence[Seen]) -> list[Doubt]:
    new = _loads_and_turns(rows)
    seen: list[Sighted] = [*near, *new]
    by_sight: dict[Any, list[Sighted]] = {}
    for row in seen:
        by_sight.setdefault(_sight(row), []).append(row)
    by_several = [alike for alike in by_sight.values() if len({(row.person_id, row.device) for row in alike}) > 1]
    if not by_several:
        return []
    withdrawn = _withdrawn([row for alike in by_several for row in alike])
    fresh = {row.uid for row in new}
    return [
        Doubt(Question.Why.TWICE, one, _twice(one), other)
        for alike in by_several
        for one, other in _close_in_time([row for row in alike if row.uid not in withdrawn])
        if fresh & {one.uid, other.uid}
    ]


def _withdrawn(rows: Sequence[Sighted]) -> set[Any]:
    answers = many.find(Entry, ("corrects", "details"), corrects={row.uid for row in rows})
    return {uid for uid, said in answers if said["says"] == "withdraw"}


def _close_in_time(rows: Sequence[Sighted]) -> Iterator[tuple[Sighted, Sighted]]:
    """Each with the next that somebody else recorded within half an hour: one load can be only one other's."""
    in_order = sorted(rows, key=lambda row: row.effective_at)  # those of one moment as they arrived
    for place, one in enumerate(in_order):
        for later in range(place + 1, len(in_order)):
            if in_order[later].effective_at - one.effective_at > TWICE_WITHIN:
                break
            if _by_two_people(one, in_order[later]):
                yield one, in_order[later]
                break


def _by_two_people(one: Sighted, other: Sighted) -> bool:
    if one.device == other.device == NOTEBOOK or (one.person_id and one.person_id == other.person_id):
        return False
    return (one.person_id, one.device) != (other.person_id, other.device)


def _sight(row: Sighted) -> tuple[Any, ...]:
    """What two people at the same bay would both have seen."""
    if row.kind == "turn":
        return (row.bay_id, row.kind, str(row.details["sources"]))
    said = row.details
    return (row.bay_id, row.kind, said["feedstock"], said["half_containers"] * said["container_ml"])


def _twice(row: Sighted) -> str:
    if row.kind == "turn":
        return _("Two people recorded this turn within half an hour. Was it one turn?")
    return _("Two people recorded this load within half an hour. Was it one load?")
