"""The only door into the ledger: each entry is taken at most once, and each gets one receipt.

Appending happens under the ledger's lock, together with everything kept beside it, in one transaction.
A receipt is only given once that transaction is on the disk.
"""

import hashlib
import uuid
from collections.abc import Callable, Sequence
from dataclasses import replace

from django.db import transaction

from heaps import doubts, history, ledger, parking, wire
from heaps.desk import Desk, Receipt, Sending
from heaps.models import COLUMNS, Entry, Ledger, as_stored, known_materials, many
from heaps.science.materials import Materials
from heaps.wording import refused
from members.models import Member

#: What else is to be done once it is known what became of each entry.
Also = Callable[[Sequence[Receipt]], None]

__all__ = ["Receipt", "Sending", "accept", "epoch", "hand_in", "head", "link"]


def epoch() -> uuid.UUID:
    """The ledger's epoch. It changes when a backup is restored."""
    known = many.find(Ledger, ["epoch"])
    return known[0][0] if known else head().epoch


def head() -> Ledger:
    """The ledger's one head row."""
    return Ledger.objects.get_or_create(pk=1, defaults={"replay": ledger.REPLAY})[0]


def _locked() -> Ledger:
    """The head row, locked until the transaction ends: nobody else appends meanwhile."""
    there = Ledger.objects.select_for_update().filter(pk=1)
    return next(iter(there), None) or there.get(pk=head().pk)


def accept(raw_entries: Sequence[object], sending: Sending, also: Also = lambda receipts: None) -> list[Receipt]:
    """Take entries as they came over the wire. One receipt each, in the same order.

    A bad entry is refused with its reason; the good ones beside it go in. What is to be done `also` is done in the same
    transaction, because each waits for the disk. They are read before it: nobody waits for that.
    """
    materials = known_materials()
    read = [(_read(raw, materials), raw) for raw in raw_entries]
    with transaction.atomic(savepoint=False):  # nobody goes on after half of it
        receipts = _judged(read, sending)
        also(receipts)
    return receipts


def hand_in(
    raw_entries: Sequence[object], whose: str | None, sending: Sending, also: Also = lambda receipts: None
) -> list[Receipt]:
    """Lay aside what a phone brings that is no longer signed in, for the person with the number `whose`.

    Nobody stands behind what comes without one. Somebody who has left stays gone: no person, no phone and no words.
    `also` is as for `accept`. Raises parking.TooMany.
    """
    with transaction.atomic():
        _locked()  # nobody leaves in the middle of it
        person = Member.objects.filter(uid=whose).first() if whose else None
        device = sending.device if person else None
        sending = replace(sending, person=person, device=device, handed_in=True, unproved=not whose)
        return accept(raw_entries, sending, also)


def _read(raw: object, materials: Materials) -> wire.Wired | Receipt:
    try:
        return wire.read(raw, materials)
    except wire.Refusal as refusal:
        uid = raw.get("uid") if isinstance(raw, dict) else None
        return Receipt(uid if isinstance(uid, str) else "", "refused", refused(refusal))


def _judged(read: Sequence[tuple[wire.Wired | Receipt, object]], sending: Sending) -> list[Receipt]:
    """What becomes of each, as it was read and as it came."""
    wanted = [one for one, _raw in read if isinstance(one, wire.Wired)]
    if not wanted:
        return [one for one, _raw in read if isinstance(one, Receipt)]
    lock = _locked()
    desk = Desk.opened(wanted, sending)
    receipts = [one if isinstance(one, Receipt) else desk.judge(one, raw) for one, raw in read]
    parking.keep(desk.parked, sending.received_at)
    _append(desk, lock)
    return receipts


def _append(desk: Desk, lock: Ledger) -> None:
    """Store what was taken at the chain's end and bring everything beside the ledger up to date."""
    if not desk.taken:
        return
    materials = known_materials()  # under the lock: somebody may have decided on one since the entries were read
    sending, rows = desk.sending, [row for _wired, row in desk.taken]
    near = doubts.near(rows)
    for row in rows:
        row.chain = lock.chain = _linked(lock.chain, row.fingerprint, row.effective, row.received)
    many.insert(Entry, COLUMNS, map(as_stored, rows))
    many.put(Ledger, "chain", [(lock.pk, lock.chain)], counted="entries", more=len(rows))
    answers = history.answers_to({row.corrects or row.uid for row in rows if desk.is_spoken_of(row)})
    history.carry_forward(rows, answers, materials)
    doubts.settle(rows, sending.received_at)
    odd_dates = [
        (row, why)
        for wired, row in desk.taken
        if (why := wire.date_doubt(wired, sending.sent_at, sending.received_at)) and row.corrects is None
    ]
    doubts.ask(rows, near, answers, odd_dates, materials)


def link(chain: str, row: Entry) -> str:
    """The chain's value at a stored row, after `chain`."""
    return _linked(chain, row.fingerprint, row.effective_at.isoformat(), row.received_at.isoformat())


def _linked(chain: str, fingerprint: str, effective: str, received: str) -> str:
    """The chain's next value: what came before, what was recorded, when it counts and when it came, in ISO 8601."""
    return hashlib.sha256(f"{chain} {fingerprint} {effective} {received}".encode()).hexdigest()
