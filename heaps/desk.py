"""What becomes of each entry of one sending: taken, known, laid aside for a coordinator, or refused with a reason."""

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import NamedTuple

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from heaps import ledger, named, parking, wire
from heaps.ledger.kinds import Correction
from heaps.models import Bay, Donor, Fresh, Parked, Site
from heaps.stewards import Care, care_of
from members.models import Member


class Receipt(NamedTuple):
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


@dataclass
class Desk:
    """What is known about the entries of one sending before any is taken."""

    sending: Sending
    sender: int | None
    fingerprints: dict[str, str]
    originals: dict[str, named.Told | Fresh]
    corrected: set[str]  # entries that have been corrected
    settled: set[str]  # and those of them where somebody else did
    held: dict[str, str]  # parked entries by uid: waiting, placed or left out
    sites: dict[str, Site]
    bays: dict[str, Bay]
    donors: dict[str, Donor]
    taken: list[tuple[wire.Wired, Fresh]] = field(default_factory=list)
    parked: list[Parked] = field(default_factory=list)

    @classmethod
    def opened(cls, wanted: Sequence[wire.Wired], sending: Sending) -> "Desk":
        uids = {one.uid for one in wanted}
        meant = {one.what.corrects for one in wanted if isinstance(one.what, Correction)}
        told = named.told_of(uids | meant)
        corrections = [one for one in told if one.corrects]
        sender = _number(sending.person)
        held = parking.where_they_are(uids)
        if not sending.unproved:
            parking.make_way(held)
        return cls(
            sending=sending,
            sender=sender,
            fingerprints={uid: one.fingerprint for one in told if (uid := str(one.uid)) in uids},
            originals={str(one.uid): one for one in told},
            corrected={str(one.corrects) for one in corrections},
            settled={str(one.corrects) for one in corrections if one.person_id != sender},
            held=held,
            sites=named.sites_of({one.site for one in wanted}),
            bays=named.bays_of({uid for one in wanted for uid in one.bays}),
            donors=named.donors_named(wanted),
        )

    @cached_property
    def received(self) -> str:
        """When it all arrived, in ISO 8601."""
        return self.sending.received_at.isoformat()

    @cached_property
    def care(self) -> Care:
        """What the sender looks after: few entries ask for it."""
        return care_of(self.sending.person)

    def judge(self, wired: wire.Wired, raw: object) -> Receipt:
        """The receipt of one entry; it is laid ready to be stored if it gets in."""
        held = self.held.get(wired.uid)
        if fingerprint := self.fingerprints.get(wired.uid):
            if fingerprint == wired.fingerprint or held == "placed":
                return Receipt(wired.uid, "known")
            return Receipt(
                wired.uid,
                "refused",
                _("Another entry with this number is already here. Please record this one again."),
            )
        if self.sending.handed_in or held in ("waiting", "left out"):
            return self._lay_aside(wired, raw, held)
        if reason := self._forbidden(wired):
            return Receipt(wired.uid, "refused", reason)
        if reason := self._unplaced(wired):
            if self.sending.from_file:
                return Receipt(wired.uid, "refused", _(reason))
            return self._park(wired, raw, reason)
        if reason := self._pointless(wired):
            return Receipt(wired.uid, "refused", reason)
        row = self.originals[wired.uid] = self._row(wired)
        self.taken.append((wired, row))
        self.fingerprints[wired.uid] = row.fingerprint
        return Receipt(wired.uid, "accepted")

    def is_spoken_of(self, row: Fresh) -> bool:
        """Whether a fresh row corrects an entry, or had been corrected before it came."""
        return row.corrects is not None or row.told.uid in self.corrected

    def _lay_aside(self, wired: wire.Wired, raw: object, held: str | None) -> Receipt:
        """What a coordinator has to look at, or has looked at."""
        if held == "waiting":
            return Receipt(wired.uid, "parked", _("A coordinator will place it."))
        if held == "left out":
            return Receipt(wired.uid, "known", _("A coordinator has left it out."))
        return self._park(wired, raw, parking.FROM_FILE if self.sending.unproved else parking.HANDED_IN)

    def _forbidden(self, wired: wire.Wired) -> str:
        """Why this person may not record this, or nothing."""
        if wired.kind not in ("opening", Correction.kind) or self._may_mend(wired):
            return ""
        if wired.kind == "opening":
            return _("Only a coordinator says what already lay in a bay. Please tell one.")
        if isinstance(wired.what, Correction) and wired.what.says == "stands":
            return _("Only a coordinator says that an entry stands. Please ask one.")
        original = self.originals.get(wired.what.corrects) if isinstance(wired.what, Correction) else None
        if original and original.person_id != (self.sender or 0):  # nobody is not whoever has left
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
        for uid in wired.bays:
            if uid not in self.bays or self.bays[uid].site_id != site.id:
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

    def _row(self, wired: wire.Wired) -> Fresh:
        sending, donor, by_others = self.sending, self._donor(wired), self.sending.recorded_by
        site, bay = self.sites[wired.site], self.bays.get(wired.bay or "")
        at = wire.effective_at(wired, sending.sent_at, sending.received_at)
        effective = wired.occurred if at is wired.occurred_at else at.isoformat()
        return Fresh(
            kind=wired.kind,
            site_id=site.id,
            bay_id=bay.id if bay else None,
            occurred=wired.occurred,
            effective_at=at,
            effective=effective,
            received=self.received,
            by_hand=wired.by_hand,
            details=wired.details,
            written=wired.written,
            corrects=uuid.UUID(wired.what.corrects) if isinstance(wired.what, Correction) else None,
            fingerprint=wired.fingerprint,
            chain="",
            person_id=_number(by_others[wired.uid]) if wired.uid in by_others else self.sender,
            device=sending.device,
            words=wired.words,
            donor_id=donor.pk if donor else None,
            site=site,
            bay=bay,
            told=ledger.Entry(wired.uid, wired.bay, at, wired.what),
        )

    def _donor(self, wired: wire.Wired) -> Donor | None:
        """Who gave it, if they give at that site; one that is not known is left out."""
        donor = self.donors.get(wired.donor or "")
        return donor if donor and donor.site_id in (None, self.sites[wired.site].pk) else None


def _number(person: Member | None) -> int | None:
    return person.pk if person else None
