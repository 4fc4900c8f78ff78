"""What the entries of one sending name: other entries, sites, bays, donors. Each in one question."""

import uuid
from collections.abc import Iterable, Sequence
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


def told_of(uids: set[uuid.UUID]) -> list[Told]:
    """The entries with these numbers, and whatever corrects them."""
    rows = [*many.find(Entry, Told._fields, uid=uids), *many.find(Entry, Told._fields, corrects=uids)]
    return [Told(*row) for row in rows]


def bays_of(named: set[str]) -> dict[str, Bay]:
    return {str(bay.uid): bay for bay in Bay.objects.filter(uid__in=named).select_related("site").order_by()}


def sites_of(named: set[str], bays: Iterable[Bay]) -> dict[str, Site]:
    """The sites of some entries. Most have come with their bays."""
    found = {str(bay.site.uid): bay.site for bay in bays}
    if missing := named - found.keys():
        found |= {str(site.uid): site for site in Site.objects.filter(uid__in=missing)}
    return found


def donors_named(wanted: Sequence[wire.Wired]) -> dict[str, Donor]:
    named = {one.donor for one in wanted if one.donor}
    return {str(donor.uid): donor for donor in Donor.objects.filter(uid__in=named)} if named else {}
