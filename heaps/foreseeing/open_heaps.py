"""The forecasts of the heaps that lie at a site now."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import Q

from heaps import history, ledger
from heaps.foreseeing.ground import bays_of, ground_of, the_members
from heaps.foretold import SHAPE, to_plain
from heaps.ledger.living import Told, concerning, tell
from heaps.lessons import learnt_here
from heaps.lineage import lays_of
from heaps.models import Bay, KeptForecast, Site, climate_at, known_materials
from heaps.science.living.forecast import foresee
from heaps.sums import is_leaves
from heaps.usual import usual_bag_litres

#: So many heaps at most go through their days side by side: quicker than one by one, and not much memory.
BLOCK = 8


@dataclass(frozen=True)
class Due:
    """A heap whose forecast has to be made. `carried` was read before its entries are, so that what comes in meanwhile
    is due again."""

    bay: Bay
    batch: ledger.Batch
    carried: int
    leaf: bool

    @property
    def began(self) -> datetime:
        """When its first matter was tipped, wherever that was."""
        return min(lay.began for lay in lays_of(self.batch))


def forecast_site(site: Site, now: datetime) -> int:
    """Make the forecasts of a site that are due; how many heaps that were."""
    today, found = site.day_of(now), due(site, site.day_of(now))
    for block in _blocks(found):
        _forecast(site, block, today)
    return len(found)


def due(site: Site, today: date) -> list[Due]:
    """The heaps of a site whose forecast is not of today, or does not know of all that was recorded."""
    found, materials = [], known_materials()
    for bay in Bay.objects.filter(site=site, stored__isnull=False).select_related("stored", "forecast"):
        batch, carried = ledger.from_plain(bay.stored.state).batch, bay.stored.carried
        kept: KeptForecast | None = getattr(bay, "forecast", None)
        if batch and (kept is None or _of(kept) != (batch.uid, today, carried, SHAPE)):
            found.append(Due(bay, batch, carried, bay.kind == Bay.Kind.LEAF or is_leaves(batch, materials)))
    return found


def _of(kept: KeptForecast) -> tuple[str, date, int, int]:
    return kept.batch, kept.made_on, kept.carried, kept.says.get("shape", 0)


def _blocks(found: Iterable[Due]) -> Iterator[Sequence[Due]]:
    """Heaps of about the same age together, because a block lives through the days of its oldest; leaves by themselves,
    because they are looked at for longer."""
    ordered = sorted(found, key=lambda one: one.began)
    for leaf in (False, True):
        alike = [one for one in ordered if one.leaf == leaf]
        yield from (alike[at : at + BLOCK] for at in range(0, len(alike), BLOCK))


def _forecast(site: Site, block: Sequence[Due], today: date) -> None:
    told = _told(site, block)
    if told is None:
        return
    bag_litres = usual_bag_litres()
    ground = ground_of(told, site, [str(one.bay.uid) for one in block if one.leaf], today)
    records = {row: replace(record, bag_l=bag_litres) for row, record in told.records.items()}
    found = foresee(ground, records, the_members(), climate_at(site.pk), learnt_here())
    for one in block:
        said = found.get(told.rows.get(str(one.bay.uid), -1))
        if said:
            kept = {"batch": one.batch.uid, "made_on": today, "carried": one.carried}
            says = to_plain(said, told.begins, bag_litres)
            KeptForecast.objects.update_or_create(bay=one.bay, defaults={**kept, "says": says})


def _told(site: Site, block: Sequence[Due]) -> Told | None:
    """What the ledger tells of some heaps, from the first day of their matter on."""
    standing = history.standing(site.pk, min(one.began for one in block), Q())
    told = tell(standing, bays_of(site), known_materials(), site.day_of)
    return told and concerning(told, [str(one.bay.uid) for one in block])
