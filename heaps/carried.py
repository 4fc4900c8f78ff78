"""What a phone kept, carried off as a file and brought in by a coordinator.

A letter in it is sealed with its person's hand-over key. Sealed, and from a phone on which that person is signed in,
it is taken as if the phone had sent it; sealed, from any other phone, it is laid aside as if handed in. Without a good
seal nobody knows who wrote it, or whether it was changed: it is laid aside without name, phone and words.
"""

import json
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from typing import Any

from django.utils.translation import gettext_lazy as _

from heaps import sync, wire
from heaps.parking import TooMany
from members import hand_over, sessions
from members.models import Member

MOST_LETTERS = 200
TOO_MANY = _("A lot was laid aside today. None of this went in. Bring the same file again tomorrow.")
Take = Callable[[list[Any]], list[sync.Receipt]]


class Unreadable(Exception):
    """No file of a phone, or only a part of one. Its text says what to do."""


class From(Enum):
    """What is known of where a letter comes from."""

    PHONE = "phone"
    KEY = "key"
    NOBODY = "nobody"
    CHANGED = "changed"

    @property
    def says(self) -> str:
        """In words."""
        return str(SAID[self])


SAID = {
    From.PHONE: _("From a phone on which this person is signed in."),
    From.KEY: _("Sealed by a phone that is not signed in. A coordinator looks at each entry."),
    From.NOBODY: _("Recorded before anybody signed in on the phone. Nobody is named."),
    From.CHANGED: _("The seal does not fit. It was changed, or somebody else wrote it. Nobody is named."),
}


@dataclass(frozen=True)
class Letter:
    """A letter of the file: its entries as they came, with a receipt each, and what did not come in and why."""

    comes_from: From
    person: Member | None
    entries: tuple[object, ...]
    receipts: tuple[sync.Receipt, ...]
    problem: str = ""


@dataclass(frozen=True)
class Brought:
    """What became of a file. `set_aside` is what the phone itself could not read."""

    letters: tuple[Letter, ...]
    set_aside: tuple[str, ...]


def bring_in(text: str, now: datetime) -> Brought:
    """Take in what a file holds. The same file may come any number of times. Raises Unreadable."""
    said = _read(text)
    letters = said.get("letters") if isinstance(said, dict) else None
    if not isinstance(letters, list) or len(letters) > MOST_LETTERS:
        raise Unreadable(_("This is no file that a phone saved. Choose one that begins with “kept-on-this-phone”."))
    aside = said.get("set_aside")
    broken = tuple(json.dumps(one, ensure_ascii=False) for one in aside) if isinstance(aside, list) else ()
    return Brought(tuple(_letter(one, now) for one in letters), broken)


def _letter(sealed: object, now: datetime) -> Letter:
    text, seal = (sealed.get("text"), sealed.get("seal")) if isinstance(sealed, dict) else (None, None)
    letter = _read(text) if isinstance(text, str) else None
    entries = letter.get("entries") if isinstance(letter, dict) else None
    if not isinstance(letter, dict) or not isinstance(entries, list) or len(entries) > wire.MOST_ENTRIES:
        raise Unreadable(_("A part of this file cannot be read. Save it on the phone once more."))
    comes_from, person, take = _judged(letter, str(text), seal, now)
    try:
        return Letter(comes_from, person, tuple(entries), tuple(take(entries)))
    except TooMany:
        return Letter(comes_from, person, tuple(entries), (), str(TOO_MANY))


def _judged(letter: dict[str, Any], text: str, seal: object, now: datetime) -> tuple[From, Member | None, Take]:
    """Where a letter comes from, who recorded it, and how it is taken.

    What a file says of the time it was made tells nothing of a clock that is wrong: it may have lain for days.
    """
    whose, device = letter.get("person"), _uid(letter.get("device"))
    sending = sync.Sending(person=None, device=device, sent_at=now, received_at=now)
    if not isinstance(whose, str) or not hand_over.seals(whose, text, seal):
        comes_from = From.NOBODY if whose is None and seal is None else From.CHANGED
        return comes_from, None, lambda entries: sync.hand_in(entries, None, sending)
    person = Member.objects.filter(uid=whose).first()
    if person and device and sessions.is_signed_in(person, device, now):
        return From.PHONE, person, lambda entries: sync.accept(entries, replace(sending, person=person))
    return From.KEY, person, lambda entries: sync.hand_in(entries, whose, sending)


def lines(letter: Letter) -> Iterator[tuple[Any, sync.Receipt]]:
    """Each entry with its receipt."""
    return zip(letter.entries, letter.receipts, strict=False)


def _read(text: str) -> Any:
    """JSON as the door reads it: no number is too long to be refused by itself."""
    try:
        return json.loads(text, parse_constant=float, parse_int=_whole)
    except (ValueError, RecursionError):
        raise Unreadable(
            _("This cannot be read. If you copied it as text, copy all of it, from the first { to the last }.")
        ) from None


def _whole(digits: str) -> int | str:
    return int(digits) if len(digits) <= 18 else digits


def _uid(text: object) -> uuid.UUID | None:
    try:
        return uuid.UUID(str(text))
    except ValueError:
        return None
