"""The only door into the ledger: each entry is taken at most once, and each gets one receipt.

Appending happens under the ledger's lock, together with everything kept beside it, in one transaction.
A receipt is only given once that transaction is on the disk.
"""

import hashlib
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from heaps import doubts, history, named, parking, wire
from heaps.ledger import REPLAY
from heaps.ledger.kinds import Correction
from heaps.models import Bay, Donor, Entry, Ledger, Parked, Site, known_materials, many
from heaps.science.materials import Materials
from heaps.stewards import Care, care_of
from heaps.wording import refused
from members.models import Member


@dataclass(frozen=True)
class Receipt:
    """What became of one entry: accepted, known, parked or refused, and why."""

    uid: str
    state: str
    reason: str = ""


@dataclass(frozen=True)
class Sending:
    """Who sends, from which phone, and what its clock said then.

    `recorded_by` says by uid who recorded what the sender did not; nobody, where the name is gone.
    """

    person: Member | None
    device: uuid.UUID | None
    sent_at: datetime
    received_at: datetime = field(default_factory=timezone.now)
    recorded_by: Mapping[str, Member | None] = field(default_factory=dict)
    handed_in: bool = False  # by a phone that is no longer signed in: nothing goes into the ledger by itself
    unproved: bool = False  # from a file without a good seal: it gives way to the same entry from a phone
    from_file: bool = False  # what has no place is refused, not laid aside: whoever brings it in can mend the file


def epoch() -> uuid.UUID:
    """The ledger's epoch. It changes when a backup is restored."""
    return head().epoch


def head() -> Ledger:
    """The ledger's one head row."""
    return Ledger.objects.get_or_create(pk=1, defaults={"replay": REPLAY})[0]


def _locked() -> Ledger:
    """The head row, locked until the transaction ends: nobody else appends meanwhile."""
    there = Ledger.objects.select_for_update()
    return there.filter(pk=1).first() or there.get(pk=head().pk)


def accept(raw_entries: Sequence[object], sending: Sending) -> list[Receipt]:
    """Take entries as they came over the wire. One receipt each, in the same order.

    A bad entry is refused with its reason; the good ones beside it go in.
    """
    materials = known_materials()
    read = [_read(raw, materials) for raw in raw_entries]
    wanted = [one for one in read if isinstance(one, wire.Wired)]
    if not wanted:
        return [one for one in read if isinstance(one, Receipt)]
    with transaction.atomic():
        lock = _locked()
        desk = _Desk.opened(wanted, sending)
        raws = {id(one): raw for one, raw in zip(read, raw_entries, strict=True)}
        receipts = [one if isinstance(one, Receipt) else desk.judge(one, raws[id(one)]) for one in read]
        parking.keep(desk.parked, sending.received_at)
        _append(desk.taken, sending, lock, materials)
    return receipts


def hand_in(raw_entries: Sequence[object], whose: str | None, sending: Sending) -> list[Receipt]:
    """Lay aside what a phone brings that is no longer signed in, for the person with the number `whose`.

    Nobody stands behind what comes without one. Somebody who has left stays gone: no person, no phone and no words.
    Raises parking.TooMany.
    """
    with transaction.atomic():
        _locked()  # nobody leaves in the middle of it
        person = Member.objects.filter(uid=whose).first() if whose else None
        device = sending.device if person else None
        return accept(raw_entries, replace(sending, person=person, device=device, handed_in=True, unproved=not whose))


def _read(raw: object, materials: Materials) -> wire.Wired | Receipt:
    try:
        return wire.read(raw, materials)
    except wire.Refusal as refusal:
        uid = raw.get("uid") if isinstance(raw, dict) else None
        return Receipt(uid if isinstance(uid, str) else "", "refused", refused(refusal))


@dataclass
class _Desk:
    """What is known about the entries of one sending before any is taken."""

    sending: Sending
    fingerprints: dict[str, str]
    originals: dict[str, Entry]
    settled: set[str]  # entries that somebody else has corrected
    held: dict[str, str]  # parked entries by uid: waiting, placed or left out
    sites: dict[str, Site]
    bays: dict[str, Bay]
    donors: dict[str, Donor]
    care: Care
    taken: list[tuple[wire.Wired, Entry]] = field(default_factory=list)
    parked: list[Parked] = field(default_factory=list)

    @classmethod
    def opened(cls, wanted: Sequence[wire.Wired], sending: Sending) -> "_Desk":
        uids = {one.uid for one in wanted}
        meant = {one.what.corrects for one in wanted if isinstance(one.what, Correction)}
        told = Entry.objects.only("uid", "kind", "site_id", "person_id", "fingerprint")
        rows = {str(row.uid): row for row in told.filter(uid__in=uids | meant)}
        bays = named.bays_of({uid for one in wanted for uid in wire.bays_named(one)})
        held = parking.where_they_are(uids)
        if not sending.unproved:
            parking.make_way(held)
        return cls(
            sending=sending,
            fingerprints={uid: row.fingerprint for uid, row in rows.items() if uid in uids},
            originals=rows,
            settled=named.corrected_by_others(meant, sending.person) if meant else set(),
            held=held,
            sites=named.sites_of({one.site for one in wanted}, bays.values()),
            bays=bays,
            donors=named.donors_named(wanted),
            care=care_of(sending.person),
        )

    def judge(self, wired: wire.Wired, raw: object) -> Receipt:
        """The receipt of one entry; it is laid ready to be stored if it gets in."""
        if fingerprint := self.fingerprints.get(wired.uid):
            if fingerprint == wired.fingerprint or self.held.get(wired.uid) == "placed":
                return Receipt(wired.uid, "known")
            return Receipt(
                wired.uid,
                "refused",
                _("Another entry with this number is already here. Please record this one again."),
            )
        if self.sending.handed_in or self.held.get(wired.uid) in ("waiting", "left out"):
            return self._lay_aside(wired, raw)
        if reason := self._forbidden(wired):
            return Receipt(wired.uid, "refused", reason)
        if reason := self._unplaced(wired):
            if self.sending.from_file:
                return Receipt(wired.uid, "refused", _(reason))
            return self._park(wired, raw, reason)
        if reason := self._pointless(wired):
            return Receipt(wired.uid, "refused", reason)
        row = self.originals[wired.uid] = self._row(wired)
        row.said = wired.what
        self.taken.append((wired, row))
        self.fingerprints[wired.uid] = row.fingerprint
        return Receipt(wired.uid, "accepted")

    def _lay_aside(self, wired: wire.Wired, raw: object) -> Receipt:
        """What a coordinator has to look at, or has looked at."""
        if self.held.get(wired.uid) == "waiting":
            return Receipt(wired.uid, "parked", _("A coordinator will place it."))
        if self.held.get(wired.uid) == "left out":
            return Receipt(wired.uid, "known", _("A coordinator has left it out."))
        return self._park(wired, raw, parking.FROM_FILE if self.sending.unproved else parking.HANDED_IN)

    def _forbidden(self, wired: wire.Wired) -> str:
        """Why this person may not record this, or nothing."""
        if self._may_mend(wired):
            return ""
        if wired.kind == "opening":
            return _("Only a coordinator says what already lay in a bay. Please tell one.")
        if isinstance(wired.what, Correction) and wired.what.says == "stands":
            return _("Only a coordinator says that an entry stands. Please ask one.")
        original = self.originals.get(wired.what.corrects) if isinstance(wired.what, Correction) else None
        sender = self.sending.person.pk if self.sending.person else 0  # nobody is not whoever has left
        if original and original.person_id != sender:
            return _("Only the person who recorded it or a coordinator can change this entry. Please ask one.")
        if original and str(original.uid) in self.settled:
            return _("A coordinator has settled this entry. Please ask one to change it again.")
        return ""

    def _may_mend(self, wired: wire.Wired) -> bool:
        """Whether the sender may open bays at its site, and correct what others recorded there."""
        original = self.originals.get(wired.what.corrects) if isinstance(wired.what, Correction) else None
        site = self.sites.get(wired.site)
        at = {site.pk if site else None, original.site_id if original else site and site.pk}
        return all(one in self.care for one in at)

    def _unplaced(self, wired: wire.Wired) -> str:
        """Why the ledger has no place for this, or nothing. It is stored so, and translated where it is shown."""
        site = self.sites.get(wired.site)
        if site is None:
            return gettext_noop("This site is not known here.")
        if any(uid not in self.bays or self.bays[uid].site_id != site.pk for uid in wire.bays_named(wired)):
            return gettext_noop("One of its bays is not known at that site.")
        return ""

    def _pointless(self, wired: wire.Wired) -> str:
        """Why this correction would change nothing, so that nobody thinks it did; or nothing."""
        original = self.originals.get(wired.what.corrects) if isinstance(wired.what, Correction) else None
        if original is None or not isinstance(wired.what, Correction):
            return ""
        if original.kind == Correction.kind:
            return _("A correction cannot be corrected. Correct the first entry again.")
        if original.site_id != self.sites[wired.site].pk:
            return _("The entry was recorded at another site. Take it back there, and record it anew here.")
        if wired.what.what and wired.what.what.kind != original.kind:
            return _("This would make another kind of entry of it. Take the first one back, and record it anew.")
        return ""

    def _park(self, wired: wire.Wired, raw: object, reason: str) -> Receipt:
        receipt = Receipt(wired.uid, "parked", f"{_(reason)} {_('A coordinator will place it.')}")
        if wired.uid in self.held:  # a coordinator is about to place it, and chose bays that do not go together
            return receipt
        self.parked.append(
            Parked(
                uid=wired.uid,
                raw=parking.as_kept(raw, self.sending.person, self.sending.handed_in),
                reason=reason,
                person=self.sending.person,
                device=self.sending.device,
                sent_at=self.sending.sent_at,
                received_at=self.sending.received_at,
            )
        )
        self.held[wired.uid] = "waiting"
        return receipt

    def _row(self, wired: wire.Wired) -> Entry:
        sending = self.sending
        return Entry(
            uid=uuid.UUID(wired.uid),
            kind=wired.kind,
            site=self.sites[wired.site],
            bay=self.bays[wired.bay] if wired.bay else None,
            occurred_at=wired.occurred_at,
            effective_at=wire.effective_at(wired, sending.sent_at, sending.received_at),
            received_at=sending.received_at,
            by_hand=wired.by_hand,
            details=wired.details,
            corrects=uuid.UUID(wired.what.corrects) if isinstance(wired.what, Correction) else None,
            fingerprint=wired.fingerprint,
            person=sending.recorded_by.get(wired.uid, sending.person),
            device=sending.device,
            words=wired.words,
            donor=self._donor(wired),
        )

    def _donor(self, wired: wire.Wired) -> Donor | None:
        """Who gave it, if they give at that site; one that is not known is left out."""
        donor = self.donors.get(wired.donor or "")
        return donor if donor and donor.site_id in (None, self.sites[wired.site].pk) else None


def _append(taken: Sequence[tuple[wire.Wired, Entry]], sending: Sending, lock: Ledger, materials: Materials) -> None:
    """Store rows at the chain's end and bring everything beside the ledger up to date."""
    if not taken:
        return
    rows = [row for _wired, row in taken]
    for row in rows:
        row.chain = lock.chain = link(lock.chain, row)
    lock.entries += len(rows)
    many.insert(Entry, rows)
    lock.save()
    answers = history.answers_to(rows)
    history.carry_forward(rows, answers, materials)
    doubts.settle(rows, sending.received_at)
    odd_dates = {wired.uid: wire.date_doubt(wired, sending.sent_at, sending.received_at) for wired, _row in taken}
    doubts.ask(rows, answers, odd_dates, materials)


def link(chain: str, row: Entry) -> str:
    """The chain's next value: what came before, what was recorded, and when it counts."""
    said = f"{chain} {row.fingerprint} {row.effective_at.isoformat()} {row.received_at.isoformat()}"
    return hashlib.sha256(said.encode()).hexdigest()
