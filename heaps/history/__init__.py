"""The only bridge between rows and replay. It keeps the stored states and totals true to the ledger.

Everything here runs inside the transaction of whoever appended the rows, under the ledger's lock.
"""

from collections.abc import Iterable, Sequence

from django.db import transaction

from heaps import ledger
from heaps.history import bays, store, totals
from heaps.history.rows import Answers, Change, answers_to, changes_of, entry_of, originals_of, standing, whole_site
from heaps.history.weights import weighed_otherwise
from heaps.models import (
    Checkpoint,
    DayTotal,
    Entry,
    Fresh,
    KeptForecast,
    Ledger,
    Site,
    SiteStore,
    StoredBay,
    known_materials,
)
from heaps.science.materials import Materials

__all__ = [
    "Answers", "answers_to", "as_they_stand", "before", "carry_forward", "current_states", "drift", "entry_of",
    "let_go", "rebuild", "renew", "reweigh", "standing", "totals_drift", "weighed_otherwise",
]  # fmt: skip

before = bays.before
current_states = bays.current_states


def carry_forward(rows: Sequence[Fresh], answers: Answers, materials: Materials) -> None:
    """Bring states and totals up to date with `rows`, which have just been stored, and `answers`, all corrections of
    what they are or correct."""
    changes = changes_of(rows, answers) if answers else [Change(row, None, row.told) for row in rows]
    if not changes:
        return
    totals.add(changes, materials)
    store.carry(changes)
    _carry(changes, materials)


def _carry(changes: Sequence[Change], materials: Materials) -> None:
    for site_id in sorted({change.row.site_id for change in changes}):
        bays.carry([change for change in changes if change.row.site_id == site_id], site_id, materials)


def reweigh(changes: Sequence[Change], before: Materials, after: Materials) -> None:
    """Make totals and states anew where they hold loads that weigh differently by now: `changes` of `weights`."""
    totals.add(changes, after, before)
    _carry(changes, after)


def as_they_stand(originals: Sequence[Entry]) -> list[ledger.Entry]:
    """What rows that are no corrections say by now; what is withdrawn is left out. `bay` must have been fetched."""
    return [change.after for change in changes_of(originals) if change.after]


def let_go(rows: Sequence[Entry]) -> None:
    """Take out of attendance what `rows` say of whoever recorded them. Their names must go in the same transaction."""
    totals.let_go(changes_of([row for row in rows if row.corrects is None]), known_materials())


def drift(site: Site) -> list[str]:
    """Where the stored states and totals of a site differ from a full replay of its ledger. Empty when they do not."""
    materials = known_materials()
    rows = whole_site(site.pk)
    replayed = ledger.replay(map(entry_of, rows), materials)
    stored = {str(one.bay.uid): one.state for one in StoredBay.objects.filter(bay__site=site).select_related("bay")}
    found = [
        f"{site}: the state of bay {uid} differs from its replay"
        for uid in sorted(stored.keys() | replayed.bays.keys())
        if stored.get(uid) != (ledger.to_plain(replayed.bays[uid]) if uid in replayed.bays else None)
    ]
    sums = totals.drift(site, [_from_nothing(rows, replayed.standing)], materials)
    return found + store.drift(site, replayed.standing) + sums


def totals_drift(site: Site) -> list[str]:
    """As `drift`, of the totals alone, and some entries at a time, so that a long ledger needs no memory."""
    return totals.drift(site, map(changes_of, originals_of(site.pk)), known_materials())


@transaction.atomic
def renew() -> None:
    """Make the stored states anew where an earlier release's replay made them."""
    head = Ledger.objects.select_for_update().first()
    if head is None or head.replay == ledger.REPLAY:
        return
    for site in Site.objects.all():
        rebuild(site)
    head.replay = ledger.REPLAY
    head.save(update_fields=["replay"])


@transaction.atomic
def rebuild(site: Site) -> None:
    """Make the stored states and totals of a site anew from its ledger."""
    Ledger.objects.select_for_update().first()
    StoredBay.objects.filter(bay__site=site).delete()
    Checkpoint.objects.filter(bay__site=site).delete()
    DayTotal.objects.filter(site=site).delete()
    SiteStore.objects.filter(site=site).delete()
    KeptForecast.objects.filter(bay__site=site).update(carried=KeptForecast.OLD)
    totals.forget(site)
    rows = whole_site(site.pk)
    changes = _from_nothing(rows, ledger.effective(map(entry_of, rows)))
    materials = known_materials()
    totals.add(changes, materials)
    store.carry(changes)
    bays.carry(changes, site.pk, materials)


def _from_nothing(rows: Iterable[Entry], standing: Iterable[ledger.Entry]) -> list[Change]:
    """Every standing entry of some rows as a change from nothing."""
    by_uid = {str(row.uid): row for row in rows}
    return [Change(row=by_uid[entry.uid], before=None, after=entry) for entry in standing]
