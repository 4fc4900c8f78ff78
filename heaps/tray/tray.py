"""What waits for a coordinator: questions, remarks of replay, lost corrections, and entries to place.

Every answer is itself an entry, taken through the one door; nothing here changes or drops a record.
"""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _

from heaps import history, sync, wire
from heaps.ledger.kinds import Correction
from heaps.models import Entry, Parked, Question, Site
from heaps.stewards import EVERYWHERE, Care, care_of
from heaps.tray.placing import ToPlace, to_place
from heaps.tray.told import Ground, Told, tell
from members.models import Member

LOST_AFTER = timedelta(days=90)
#: Clocks on the ground are at most so far from each other (UTC-12 to UTC+14).
FARTHEST = timedelta(hours=14)
MOST_OF_A_DAY = 200
MOST_LEFT_OUT = 50
WITH = ("site", "bay", "person")


@dataclass(frozen=True)
class Asked:
    """One thing to settle, about one entry or about two that may be one."""

    question: str
    entries: tuple[Told, ...]

    @property
    def is_about_two(self) -> bool:
        """Whether the question is if two entries are one."""
        return len(self.entries) == 2


@dataclass(frozen=True)
class Tray:
    """All that waits, and the newest of what was left out."""

    asked: tuple[Asked, ...]
    lost: tuple[Told, ...]
    parked: tuple[ToPlace, ...]
    left_out: tuple[ToPlace, ...]

    def asked_again(self, uid: uuid.UUID, chosen: Mapping[str, str], refused: str) -> "Tray":
        """The same, with what was chosen for one entry to place, and why it was not taken in."""
        parked = (one.asked_again(chosen, refused) if one.told.uid == str(uid) else one for one in self.parked)
        return replace(self, parked=tuple(parked))


def tray(now: datetime, care: Care = EVERYWHERE) -> Tray:
    """Everything that waits for a coordinator of the sites of `care`."""
    ground = Ground.seen()
    lost = list(care.of(_lost(now)))
    told = tell(lost, ground)
    parked = Parked.objects.filter(placed_at=None).select_related("person")
    left_out = parked.filter(left_out_at__isnull=False).order_by("-left_out_at")
    return Tray(
        asked=(*_questions(ground, care), *_remarks(ground, care)),
        lost=tuple(told[str(row.uid)] for row in lost),
        parked=to_place(list(parked.filter(left_out_at=None)), ground, care),
        left_out=to_place(list(left_out), ground, care)[:MOST_LEFT_OUT],
    )


def of_day(day: date, care: Care = EVERYWHERE) -> tuple[Told, ...]:
    """The entries of one day at its site, less those taken back: so that a mistake nobody asked about can be mended."""
    gone = Entry.objects.filter(corrects=OuterRef("uid"), details__says="withdraw")
    noon = datetime.combine(day, time(12), ZoneInfo("UTC"))
    try:
        near = (noon - 2 * FARTHEST, noon + 2 * FARTHEST)
    except OverflowError:  # the first or the last days of the calendar
        return ()
    rows = care.of(Entry.objects.filter(~Exists(gone), corrects=None, effective_at__range=near))
    found = [row for row in rows.select_related(*WITH).order_by("effective_at", "pk") if _day_of(row) == day]
    return tuple(tell(found[:MOST_OF_A_DAY], Ground.seen()).values())


def _day_of(row: Entry) -> date:
    return row.effective_at.astimezone(ZoneInfo(row.site.time_zone)).date()


def answer(entry_uid: uuid.UUID, says: str, person: Member, now: datetime) -> sync.Receipt | None:
    """Record that an entry is withdrawn, or that it stands as it is corrected now. None if there is no such entry.

    An entry at a site of other coordinators is none for `person`.
    """
    found = care_of(person).of(Entry.objects.filter(uid=entry_uid, corrects=None))
    entry = found.select_related("site").first()
    if entry is None:
        return None
    raw = {
        "wire": wire.WIRE,
        "uid": str(uuid.uuid4()),
        "kind": Correction.kind,
        "site": str(entry.site.uid),
        "bay": None,
        "occurred_at": now.isoformat(),
        "details": {"corrects": str(entry.uid), "says": says},
    }
    (receipt,) = sync.accept([raw], sync.Sending(person, None, sent_at=now, received_at=now))
    return receipt


def _questions(ground: Ground, care: Care) -> list[Asked]:
    both = [f"{one}__{more}" for one in ("entry", "other") for more in WITH]
    questions = care.of(Question.objects.filter(settled_at=None))
    open_ones = list(questions.select_related(*both).order_by("pk"))
    about = [[row for row in (one.entry, one.other) if row] for one in open_ones]
    told = tell([row for rows in about for row in rows], ground)
    return [
        Asked(_(one.says), tuple(told[str(row.uid)] for row in rows))
        for one, rows in zip(open_ones, about, strict=True)
    ]


def _remarks(ground: Ground, care: Care) -> list[Asked]:
    """What replay found odd, each with its entry."""
    states = history.current_states(care.of(Site.objects.all(), "pk").values_list("pk", flat=True))
    remarks = [remark for state in states.values() for remark in state.remarks]
    rows = Entry.objects.filter(uid__in=[remark.uid for remark in remarks]).select_related(*WITH)
    told = tell(list(rows), ground)
    return [
        Asked(_odd(remark.code), (told[remark.uid],))
        for remark in sorted(remarks, key=lambda remark: (remark.at, remark.uid))
        if remark.uid in told
    ]


def _odd(code: str) -> str:
    """What replay remarked on, as a question."""
    return {
        "into a closed bay": _("This went into a closed bay. Is that right?"),
        "turn of an empty bay": _("This bay was empty when it was turned. Did that turn happen, and there?"),
        "verdict on an empty bay": _("This bay was empty when it was said to be ready. Is that right?"),
        "harvest of an empty bay": _("This bay was empty when bags were taken out of it. Is that right?"),
    }.get(code, code)


def _lost(now: datetime) -> QuerySet[Entry]:
    """Corrections whose original has not come in all this time."""
    original = Entry.objects.filter(uid=OuterRef("corrects"))
    waiting = Entry.objects.filter(corrects__isnull=False, received_at__lte=now - LOST_AFTER)
    return waiting.filter(~Exists(original)).select_related(*WITH).order_by("received_at")
