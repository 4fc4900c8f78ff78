"""What the entries of one sending name: other entries, sites, bays, donors. Each in one question."""

import uuid
from collections.abc import Sequence
from typing import NamedTuple

from heaps import wire
from heaps.models import Bay, Donor, Entry, Site, many


class Told(NamedTuple):
    """What the door has to know of an entry that is in the ledger."""

    uid: uuid.UUID
    kind: str
    site_id: int
    person_id: int | None
    fingerprint: str
    corrects: uuid.UUID | None


def told_of(uids: set[str]) -> list[Told]:
    """The entries with these numbers, and whatever corrects them."""
    rows = [*many.find(Entry, Told._fields, uid=uids), *many.find(Entry, Told._fields, corrects=uids)]
    return [Told(*row) for row in rows]


def bays_of(named: set[str]) -> dict[str, Bay]:
    return {str(bay.uid): bay for bay in many.whole(Bay, uid=named)}


def sites_of(named: set[str]) -> dict[str, Site]:
    return {str(site.uid): site for site in many.whole(Site, uid=named)}


def donors_named(wanted: Sequence[wire.Wired]) -> dict[str, Donor]:
    named = {one.donor for one in wanted if one.donor}
    return {str(donor.uid): donor for donor in Donor.objects.filter(uid__in=named)} if named else {}
