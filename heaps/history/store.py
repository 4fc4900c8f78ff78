"""What stands in store at each site: loads are taken off as they come, a material that was counted is reckoned anew."""

from collections.abc import Iterable, Sequence

from django.db.models import Q

from heaps import ledger
from heaps.history.rows import Change, standing
from heaps.ledger.kinds import Stocktake
from heaps.models import Site, SiteStore


def carry(changes: Sequence[Change]) -> None:
    """Bring the stores up to date. Where no count is concerned, that is one question and perhaps one row."""
    moving = [change for change in changes if any(ledger.material_of(side) for side in change.sides)]
    if not moving:
        return
    kept = {one.site_id: one for one in SiteStore.objects.filter(site__in={one.row.site_id for one in moving})}
    for site_id in sorted({change.row.site_id for change in moving}):
        here = [change for change in moving if change.row.site_id == site_id]
        one = kept.get(site_id)
        before = ledger.stock_from_plain(one.counted) if one else {}
        after = _carried(before, here, site_id)
        if after == before:
            continue
        one = one or SiteStore(site_id=site_id)
        one.counted = ledger.stock_to_plain(after)
        one.save()


def drift(site: Site, entries: Sequence[ledger.Entry]) -> list[str]:
    """Where a site's stored stock differs from that of `entries`, which must be all that stand there."""
    one = SiteStore.objects.filter(site=site).first()
    summed = ledger.stock_of(entries)
    if (ledger.stock_from_plain(one.counted) if one else {}) == summed:
        return []
    return [f"{site}: the store is kept as {one.counted if one else {}} but is {ledger.stock_to_plain(summed)}"]


def _carried(stock: ledger.Stock, changes: Sequence[Change], site_id: int) -> ledger.Stock:
    stock = dict(stock)
    sides = [side for change in changes for side in change.sides]
    counted = {ledger.material_of(side) for side in sides if isinstance(side.what, Stocktake)} - {""}
    for change in changes:
        for side, sign in ((change.before, -1), (change.after, 1)):
            feedstock = ledger.material_of(side) if side else ""
            if side and feedstock in stock and feedstock not in counted:
                stock[feedstock] = ledger.taken(stock[feedstock], side, sign)
    for feedstock in counted:
        stock.pop(feedstock, None)
    return {**stock, **_counted_anew(counted, site_id)} if counted else stock


def _counted_anew(feedstocks: Iterable[str], site_id: int) -> ledger.Stock:
    """What the ledger says of some materials. Counts are few, and read whole; loads only since the first that counts.

    `standing` answers with whatever a correction may have moved, so all of it is looked at again.
    """
    wanted = set(feedstocks)

    def of(kind: str) -> Q:
        return Q(kind=kind, details__feedstock__in=sorted(wanted))

    counts = [one for one in standing(site_id, None, of("stocktake")) if ledger.material_of(one) in wanted]
    latest = ledger.stock_of(one for one in counts if isinstance(one.what, Stocktake))
    if not latest:
        return {}
    since = min(one.at for one in latest.values())
    loads = [one for one in standing(site_id, since, of("dropoff")) if ledger.material_of(one) in latest]
    told = {one.uid: one for one in (*counts, *loads)}
    return ledger.stock_of(sorted(told.values(), key=lambda one: one.key))
