"""Which loads weigh otherwise once a material has another bulk density."""

from collections.abc import Iterator

from django.db.models import Q, QuerySet

from heaps import ledger
from heaps.history.rows import Change, changes_of, site_rows
from heaps.models import Entry, Site
from heaps.science.materials import Materials

AT_ONCE = 1_000


def weighed_otherwise(feedstock: str, before: Materials, after: Materials) -> list[Change]:
    """Every standing load and opening with the material whose grams are not the same by both.

    Each as a change from itself to itself: what was said stays, only what it weighs does not. Read under the ledger's
    lock, so that nothing comes in between.
    """
    return [
        Change(row=change.row, before=change.after, after=change.after)
        for site_id in Site.objects.values_list("pk", flat=True)
        for rows in _in_parts(_rows_with(feedstock, site_id))
        for change in changes_of(rows)
        if change.after and _grams_differ(change.after, before, after)
    ]


def _in_parts(rows: QuerySet[Entry]) -> Iterator[list[Entry]]:
    last = 0
    while part := list(rows.filter(pk__gt=last).order_by("pk")[:AT_ONCE]):
        yield part
        last = part[-1].pk


def _rows_with(feedstock: str, site_id: int) -> QuerySet[Entry]:
    """The originals at a site that name the material by now, or may: an opening names several."""
    corrections = Entry.objects.filter(site_id=site_id, corrects__isnull=False, details__says="instead")
    corrected = corrections.filter(details__details__feedstock=feedstock)
    named = Q(kind="dropoff", details__feedstock=feedstock) | Q(uid__in=corrected.values("corrects"))
    return site_rows(site_id).filter(named | Q(kind="opening"), corrects__isnull=True)


def _grams_differ(entry: ledger.Entry, before: Materials, after: Materials) -> bool:
    return ledger.content_of(entry, before) != ledger.content_of(entry, after)
