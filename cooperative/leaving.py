"""A person's file, and a person's leaving, across both apps."""

import calendar
import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, transaction
from django.db.models import QuerySet
from django.utils.html import escape

from cooperative.backups import erased
from heaps import names
from heaps.models import Attendance, Bay, BeanTest, Entry, ImportRun, Ledger, Parked, Site
from members import tickets
from members.forms import is_last_administrator
from members.models import Cooperative, Device, Erased, Member, Session, Ticket

AT_ONCE = 500
MESSAGES_KEY = "_messages"  # where Django keeps what it still has to tell
ABOUT = (
    "Everything kept about you here, and everything you recorded. Your password is not among it: "
    "only a scrambled form of it is kept, from which nobody can read it."
)


class StaysBehind(Exception):
    """The only administrator cannot leave, or nobody could look after the register."""


def everything(person: Member, now: datetime) -> Iterator[str]:
    """All that is kept about somebody, as JSON in small pieces."""
    yield f'{{"about": {_json(ABOUT)},\n"made_at": {_json(now)},\n"account": {_json(_account(person))}'
    yield f',\n"places": {_json(_places())}'
    parts: dict[str, Iterable[Any]] = {
        "devices": [_device(device) for device in person.devices.all()],
        "passkeys": list(person.passkeys.values("label", "made_at", "last_used_at")),
        "invitations_and_words": [_ticket(ticket, person) for ticket in tickets.open_of(person, now)],
        "months": _months(person),
        "entries": _entries(person),
        "entries_to_place": _parked(person),
        "bean_tests": list(
            BeanTest.objects.filter(person=person).values("entry__uid", "sown_on", "read_on", "result", "words")
        ),
        "files_brought_in": list(ImportRun.objects.filter(person=person).values("file_name", "made_at", "went_in")),
    }
    for name, rows in parts.items():
        yield f",\n{_json(name)}: ["
        for place, row in enumerate(rows):
            yield f"{',' if place else ''}\n{_json(row)}"
        yield "]"
    yield "}\n"


def erase(person_id: int, even_the_last: bool = False) -> None:
    """Let somebody go: their amounts stay, their name goes from everything. Raises StaysBehind.

    Nobody may append or leave at the same moment, so that no entry comes in under a name that is going.
    """
    with transaction.atomic():
        Ledger.objects.select_for_update().first()
        list(Member.objects.select_for_update().filter(is_administrator=True))  # two may not leave at once
        person = Member.objects.filter(pk=person_id).first()
        if person is None:  # they have just left by themselves
            return
        if is_last_administrator(person) and not even_the_last:
            raise StaysBehind
        names.forget(person)
        Ticket.objects.filter(made_by=person).delete()  # with its maker gone it would be as one made on the host
        _take_out_of_messages(person)
        Erased.note(Erased.What.PERSON, person.uid)
        person.delete()  # and with it devices, sessions, passkeys, tickets and being coordinator of a site
        transaction.on_commit(scrub, robust=True)
        transaction.on_commit(erased.write_list, robust=True)


def months_kept() -> int:
    """How long names stay on entries, as the cooperative has set it."""
    return (Cooperative.objects.first() or Cooperative()).keep_names_months


def months_before(now: datetime, months: int) -> datetime:
    """The same day of the month so many months ago, or that month's last day."""
    year, place = divmod(now.year * 12 + now.month - 1 - months, 12)
    day = min(now.day, calendar.monthrange(year, place + 1)[1])
    return now.replace(year=year, month=place + 1, day=day)


def scrub() -> None:
    """Write the file anew, where the database leaves what was deleted lying in it. PostgreSQL clears up by itself."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM")


def _take_out_of_messages(person: Member) -> None:
    """Take back what others have not read yet but names the person."""
    for session in Session.objects.exclude(device__member=person).iterator(chunk_size=AT_ONCE):
        said = session.get_decoded()
        told = str(said.get(MESSAGES_KEY, ""))
        if any(form in told for name in (person.name, person.username) for form in _as_told(name)):
            del said[MESSAGES_KEY]
            session.session_data = Session.objects.encode(said)
            session.save(update_fields=["session_data"])


def _as_told(name: str) -> Iterator[str]:
    """A name as it may stand in what is told, which Django keeps as JSON in plain ASCII; perhaps escaped for a page."""
    return (json.dumps(plain)[1:-1] for plain in (name, escape(name)))


def _account(person: Member) -> dict[str, Any]:
    roles = ("coordinator", "treasurer", "administrator")
    sites = Site.objects.filter(stewardships__member=person).values_list("name", flat=True)
    return {
        "number": person.uid,
        "sign_in_name": person.username,
        "name": person.name,
        "roles": [
            "member",
            *(role for role in roles if getattr(person, f"is_{role}")),
            *(f"coordinator of {site}" for site in sites),
        ],
        "may_sign_in": person.is_active,
        "joined_at": person.joined_at,
        "last_signed_in_at": person.last_login,
    }


def _device(device: Device) -> dict[str, Any]:
    return {
        "device": device.label,
        "signed_in_at": device.signed_in_at,
        "last_seen_at": device.last_seen_at,
        "signed_out_at": device.ended_at,
        "phone": device.phone,
        "entries_it_last_spoke_of": device.waiting,
        "it_last_spoke_at": device.spoke_at,
        "entries_missing_since": [device.missing, device.missing_since] if device.missing else None,
        "signed_in_until": [session.expire_date for session in device.sessions.all()],
    }


def _ticket(ticket: Ticket, person: Member) -> dict[str, Any]:
    return {
        "for": "you, on another phone" if ticket.member_id == person.pk else "somebody else",
        "made_by": "you" if ticket.made_by_id == person.pk else "somebody else",
        "made_at": ticket.made_at,
        "good_until": ticket.ends_at,
    }


def _places() -> dict[str, str]:
    """What the numbers of sites and bays in the entries stand for."""
    sites = {str(uid): name for uid, name in Site.objects.values_list("uid", "name")}
    bays = Bay.objects.values_list("uid", "site__name", "name")
    return sites | {str(uid): f"{site}, {name}" for uid, site, name in bays}


def _months(person: Member) -> Iterator[dict[str, Any]]:
    """In which months somebody recorded something, and how many of these entries stand."""
    found = Attendance.objects.filter(person=person).order_by("month", "site")
    for site, month, entries in found.values_list("site__name", "month", "entries").iterator(chunk_size=AT_ONCE):
        yield {"site": site, "month": month, "entries": entries}


def _entries(person: Member) -> Iterator[dict[str, Any]]:
    """What somebody recorded, as it came, each with what has corrected it since."""
    for rows in _in_parts(Entry.objects.filter(person=person).select_related("site", "bay")):
        corrections: dict[Any, list[dict[str, Any]]] = {}
        for one in Entry.objects.filter(corrects__in=[row.uid for row in rows]).order_by("pk"):
            by = "you" if one.person_id == person.pk else "somebody else"
            said = {"number": one.uid, "by": by, "arrived_at": one.received_at, "details": one.details}
            corrections.setdefault(one.corrects, []).append(said)
        for row in rows:
            yield _entry(row) | {"corrections": corrections.get(row.uid, [])}


def _entry(row: Entry) -> dict[str, Any]:
    return {
        "number": row.uid,
        "kind": row.kind,
        "site": row.site.name,
        "bay": row.bay.name if row.bay else None,
        "happened_at": row.occurred_at,
        "counted_at": row.effective_at,
        "arrived_at": row.received_at,
        "date_typed_in": row.by_hand,
        "details": row.details,
        "words": row.words,
        "phone": row.device,
    }


def _parked(person: Member) -> Iterator[dict[str, Any]]:
    """What a coordinator still has to place, or has placed."""
    for rows in _in_parts(Parked.objects.filter(person=person)):
        for row in rows:
            yield {
                "entry": json.loads(row.raw),
                "reason": row.reason,
                "sent_at": row.sent_at,
                "arrived_at": row.received_at,
                "placed_at": row.placed_at,
                "phone": row.device,
            }


def _in_parts(rows: QuerySet[Any]) -> Iterator[list[Any]]:
    """Rows in the order they came in, some hundreds at a time."""
    last = 0
    while part := list(rows.filter(pk__gt=last).order_by("pk")[:AT_ONCE]):
        yield part
        last = part[-1].pk


def _json(value: Any) -> str:
    return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False)
