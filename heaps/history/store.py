"""What stands in store at each site: loads are taken off as they come, a material that was counted is reckoned anew."""

from collections.abc import Iterable, Sequence

from django.db.models import Q

from heaps import ledger
from heaps.history.rows import Change, standing
from heaps.ledger.kinds import Stocktake
from heaps.models import Bay, Site, SiteStore, many


def carry(changes: Sequence[Change]) -> None:
    """Bring the stores up to date. Where nothing was ever counted, that is one question."""
    site_ids = {change.row.site_id for change in changes}
    kept = dict(many.find(SiteStore, ("site_id", "counted"), site_id=site_ids))
    for site_id in sorted(site_ids):
        here = [change for change in changes if change.row.site_id == site_id]
        before = ledger.stock_from_plain(kept.get(site_id, {}))
        if not before and not any(change.row.kind == Stocktake.kind for change in here):
            continue
        after = _carried(before, here, site_id)
        if after != before:
            counted = {"counted": ledger.stock_to_plain(after)}
            SiteStore.objects.update_or_create(site_id=site_id, defaults=counted)


def drift(site: Site, entries: Sequence[ledger.Entry]) -> list[str]:
    """Where a site's stored stock differs from that of `entries`, which must be all that stand there."""
    one = SiteStore.objects.filter(site=site).first()
    summed = ledger.stock_of(entries)
    if (ledger.stock_from_plain(one.counted) if one else {}) == summed:
        return []
    return [f"{site}: the store is kept as {one.counted if one else {}} but is {ledger.stock_to_plain(summed)}"]


def _carried(stock: ledger.Stock, changes: Sequence[Change], site_id: int) -> ledger.Stock:
    mended = {ledger.material_of(one.before) for one in changes if one.before and _counts(one.before)}
    mended |= {ledger.material_of(one.after) for one in changes if one.before and one.after and _counts(one.after)}
    mended.discard("")  # bags of compost
    fresh = _counts_in_ledger(mended, site_id) if mended else {}
    for feedstock, count in _latest(changes).items():
        if feedstock not in mended and (feedstock not in stock or count.key > stock[feedstock].key):
            fresh[feedstock] = count
    after = {feedstock: one for feedstock, one in stock.items() if feedstock not in mended and feedstock not in fresh}
    for change in changes:
        for side, sign in ((change.before, -1), (change.after, 1)):
            if side and (feedstock := ledger.material_of(side)) in after:
                after[feedstock] = ledger.taken(after[feedstock], side, sign)
    return after | _less_loads(fresh, site_id)


def _counts(entry: ledger.Entry) -> bool:
    return isinstance(entry.what, Stocktake)


def _latest(changes: Sequence[Change]) -> ledger.Stock:
    """The latest of the counts that came. One from before the count that holds changes nothing."""
    came = [one.after for one in changes if one.after and one.before is None and _counts(one.after)]
    return ledger.stock_of(sorted(came, key=lambda one: one.key))


def _counts_in_ledger(feedstocks: Iterable[str], site_id: int) -> ledger.Stock:
    """The counts of some materials that hold, after one was mended: all are read, which is seldom and not quick."""
    wanted = set(feedstocks)
    counts = standing(site_id, None, Q(kind="stocktake", details__feedstock__in=sorted(wanted)))
    return ledger.stock_of(one for one in counts if _counts(one) and ledger.material_of(one) in wanted)


def _less_loads(counts: ledger.Stock, site_id: int) -> ledger.Stock:
    """Counts, less the loads since. By bay, because there is an index on that; and `standing` answers with whatever a
    correction may have moved, so all of it is looked at again."""
    if not counts:
        return {}
    since = min(one.at for one in counts.values())
    bays = list(Bay.objects.filter(site=site_id).values_list("pk", flat=True))
    tipped = Q(kind="dropoff", details__feedstock__in=sorted(counts), bay__in=bays)
    after = dict(counts)
    for load in standing(site_id, since, tipped):
        if not _counts(load) and (feedstock := ledger.material_of(load)) in after:
            after[feedstock] = ledger.taken(after[feedstock], load, 1)
    return after
