"""What the entries of one sending name: sites, bays, donors, and what others have settled. Each in one question."""

from collections.abc import Iterable, Sequence

from heaps import wire
from heaps.models import Bay, Donor, Entry, Site
from members.models import Member


def corrected_by_others(uids: set[str], person: Member | None) -> set[str]:
    corrections = Entry.objects.filter(corrects__in=uids).exclude(person=person)
    return {str(uid) for uid in corrections.values_list("corrects", flat=True)}


def bays_of(named: set[str]) -> dict[str, Bay]:
    return {str(bay.uid): bay for bay in Bay.objects.filter(uid__in=named).select_related("site")}


def sites_of(named: set[str], bays: Iterable[Bay]) -> dict[str, Site]:
    """The sites of some entries. Most have come with their bays."""
    found = {str(bay.site.uid): bay.site for bay in bays}
    if missing := named - found.keys():
        found |= {str(site.uid): site for site in Site.objects.filter(uid__in=missing)}
    return found


def donors_named(wanted: Sequence[wire.Wired]) -> dict[str, Donor]:
    named = {one.donor for one in wanted if one.donor}
    return {str(donor.uid): donor for donor in Donor.objects.filter(uid__in=named)} if named else {}
