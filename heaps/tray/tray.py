"""What waits for a coordinator: questions, remarks of replay, lost corrections, and entries to place.

Every answer is itself an entry, taken through the one door; nothing here changes or drops a record.
"""

import json
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _

from heaps import history, sync, wire
from heaps.ledger.kinds import Correction
from heaps.models import Bay, Entry, Parked, Question, Site
from heaps.stewards import EVERYWHERE, Care, care_of, parked_in
from heaps.tray.said import said
from members.models import Member

LOST_AFTER = timedelta(days=90)
#: Clocks on the ground are at most so far from each other (UTC-12 to UTC+14).
FARTHEST = timedelta(hours=14)
MOST_OF_A_DAY = 200


@dataclass(frozen=True)
class Told:
    """An entry in words: what, where, when, by whom."""

    uid: str
    what: str
    site: str
    time_zone: str
    at: datetime
    received_at: datetime
    person: str
    words: str


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
class Place:
    """A bay that a parked entry names: under which name in the form, and which bay it is, if it is known."""

    field: str
    known: str


@dataclass(frozen=True)
class ToPlace:
    """A parked entry: what it says, why it is here, and the bays to choose."""

    told: Told
    reason: str
    places: tuple[Place, ...]


@dataclass(frozen=True)
class Tray:
    """All that waits."""

    asked: tuple[Asked, ...]
    lost: tuple[Told, ...]
    parked: tuple[ToPlace, ...]


def tray(now: datetime, care: Care = EVERYWHERE) -> Tray:
    """Everything that waits for a coordinator of the sites of `care`."""
    names = {str(bay_uid): name for bay_uid, name in Bay.objects.values_list("uid", "name")}
    return Tray(
        asked=(*_questions(names, care), *_remarks(names, care)),
        lost=tuple(_told(row, names) for row in care.of(_lost(now))),
        parked=tuple(_to_place(one, names) for one in parked_in(care).select_related("person")),
    )


def of_day(day: date, care: Care = EVERYWHERE) -> tuple[Told, ...]:
    """The entries of one day at its site, less those taken back: so that a mistake nobody asked about can be mended."""
    gone = Entry.objects.filter(corrects=OuterRef("uid"), details__says="withdraw")
    noon = datetime.combine(day, time(12), ZoneInfo("UTC"))
    near = (noon - 2 * FARTHEST, noon + 2 * FARTHEST)
    rows = care.of(Entry.objects.filter(~Exists(gone), corrects=None, effective_at__range=near))
    names = {str(bay_uid): name for bay_uid, name in Bay.objects.values_list("uid", "name")}
    found = [
        row
        for row in rows.select_related("site", "bay", "person").order_by("effective_at", "pk")
        if _day_of(row) == day
    ]
    return tuple(_told(row, names) for row in found[:MOST_OF_A_DAY])


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


def place(parked_uid: uuid.UUID, chosen: Mapping[str, str], person: Member, now: datetime) -> sync.Receipt | None:
    """Take a parked entry into the ledger with the bays that `chosen` names by form field, or with a site.

    It keeps its number, its sender and its times. If the ledger still refuses it, it stays parked. What waits at a
    site that `person` does not look after, and the bays there, are none for `person`.
    """
    with transaction.atomic():
        care = care_of(person)
        one = parked_in(care).select_for_update().filter(uid=parked_uid).first()
        if one is None:
            return None
        raw, missing = _placed(json.loads(one.raw), chosen, care)
        if missing:
            return sync.Receipt(str(one.uid), "refused", missing)
        sending = sync.Sending(one.person, one.device, sent_at=one.sent_at, received_at=one.received_at)
        one.placed_at = now
        one.save()
        (receipt,) = sync.accept([raw], sending)
        if receipt.state not in ("accepted", "known"):
            transaction.set_rollback(True)
    return receipt


def _questions(names: Mapping[str, str], care: Care) -> list[Asked]:
    open_ones = care.of(Question.objects.filter(settled_at=None)).select_related(
        "entry__site", "entry__bay", "entry__person", "other__site", "other__bay", "other__person"
    )
    return [
        Asked(one.says, tuple(_told(row, names) for row in (one.entry, one.other) if row))
        for one in open_ones.order_by("pk")
    ]


def _remarks(names: Mapping[str, str], care: Care) -> list[Asked]:
    """What replay found odd, each with its entry."""
    states = history.current_states(care.of(Site.objects.all(), "pk").values_list("pk", flat=True))
    remarks = [remark for state in states.values() for remark in state.remarks]
    rows = {
        str(row.uid): row
        for row in Entry.objects.filter(uid__in=[remark.uid for remark in remarks]).select_related(
            "site", "bay", "person"
        )
    }
    return [
        Asked(_odd(remark.code), (_told(rows[remark.uid], names),))
        for remark in sorted(remarks, key=lambda remark: (remark.at, remark.uid))
        if remark.uid in rows
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
    return waiting.filter(~Exists(original)).select_related("site", "bay", "person").order_by("received_at")


def _told(row: Entry, names: Mapping[str, str]) -> Told:
    what, _details = wire.read_details(row.kind, row.details)
    corrected = _as_corrected(row)
    return Told(
        uid=str(row.uid),
        what=said(what, str(row.bay.uid) if row.bay else None, names) + corrected,
        site=row.site.name,
        time_zone=row.site.time_zone,
        at=row.effective_at,
        received_at=row.received_at,
        person=row.person.name if row.person else _("somebody whose name is not kept"),
        words=row.words,
    )


def _as_corrected(row: Entry) -> str:
    corrections = Entry.objects.filter(corrects=row.uid, site=row.site_id, details__says="instead")
    return f" {_('(corrected since)')}" if corrections.exists() else ""


def _to_place(one: Parked, names: Mapping[str, str]) -> ToPlace:
    raw = json.loads(one.raw)
    told = Told(
        uid=str(one.uid),
        what="",
        site="",
        time_zone="UTC",
        at=one.sent_at,
        received_at=one.received_at,
        person=one.person.name if one.person else _("somebody whose name is not kept"),
        words="",
    )
    try:
        wired = wire.read(raw)
    except wire.Refusal as refusal:  # it was fit when it came; the list of what goes in has changed since
        return ToPlace(replace(told, what=str(refusal)), one.reason, ())
    at = wire.effective_at(wired, one.sent_at, one.received_at)
    told = replace(told, what=said(wired.what, wired.bay, names), at=at, words=wired.words)
    named = [bay for bay, _holder in _bays_in(raw)]
    places = tuple(Place(f"bay-{number}", bay if bay in names else "") for number, bay in enumerate(named))
    return ToPlace(told, one.reason, places)


def _placed(raw: dict[str, Any], chosen: Mapping[str, str], care: Care) -> tuple[dict[str, Any], str]:
    """The raw entry with the chosen bays, or what is still to be chosen."""
    site = None
    for number, (_named, holder) in enumerate(_bays_in(raw)):
        bay = _bay(chosen.get(f"bay-{number}", ""), care)
        if bay is None:
            return raw, _("Choose a bay first.")
        holder["bay"], site = str(bay.uid), site or bay.site
    site = site or _site(chosen.get("site", ""), care)
    if site is None:
        return raw, _("Choose a site first.")
    raw["site"] = str(site.uid)
    return raw, ""


def _bays_in(raw: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """Every bay that a raw entry names, with the part of it that names it: its own, a correction's, a turn's."""
    details = raw.get("details") or {}
    inner = details.get("details") or {}
    holders = [raw, details, *(details.get("sources") or []), *(inner.get("sources") or [])]
    return [(str(holder["bay"]), holder) for holder in holders if isinstance(holder, dict) and holder.get("bay")]


def _bay(uid: str, care: Care) -> Bay | None:
    return care.of(Bay.objects.filter(uid=uid)).select_related("site").first() if _is_uid(uid) else None


def _site(uid: str, care: Care) -> Site | None:
    return care.of(Site.objects.filter(uid=uid), "pk").first() if _is_uid(uid) else None


def _is_uid(text: str) -> bool:
    try:
        uuid.UUID(text)
    except ValueError:
        return False
    return True
