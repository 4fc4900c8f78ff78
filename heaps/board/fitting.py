"""Will it fit? The bays that are to be forked into one, as they lie now."""

from dataclasses import dataclass

from heaps import history, ledger
from heaps.foretold import Foretold, foretold
from heaps.models import Bay
from heaps.science.fit import Fit, Lying, will_it_fit
from heaps.sums import lying


@dataclass(frozen=True)
class Source:
    """A bay of the site in which something lies. `marked`: its fill was read, not reckoned from what was tipped."""

    uid: str
    name: str
    volume_l: float
    marked: bool
    per_cent: int  # of it is to be turned


@dataclass(frozen=True)
class Turning:
    """What is to be turned into `bay`, and whether that fits; no answer while nothing is chosen."""

    bay: Bay
    lies_l: float
    sources: tuple[Source, ...]
    fit: Fit | None

    @property
    def all_marked(self) -> bool:
        """Whether every fill that counts was read."""
        return all(one.marked for one in self.sources if one.per_cent)


def turning(bay: Bay, shares: dict[str, int]) -> Turning:
    """Whether so many per cent of each bay, by its uid, fit into one. What lies in that one stays, if it is not turned.

    `bay.site` must have been fetched.
    """
    states = history.current_states([bay.site_id])
    bays = {one: states.get(str(one.uid), ledger.BayState()).batch for one in bay.site.bays.all()}
    ahead = foretold({one.pk: batch for one, batch in bays.items()})
    found = {one: _lying(one, batch, ahead.get(one.pk)) for one, batch in bays.items()}
    sources = tuple(
        Source(str(one.uid), one.name, lies.volume_l, lies.marked, shares.get(str(one.uid), 0))
        for one, lies in found.items()
        if lies
    )
    moved = [Lying(one.volume_l, one.per_cent / 100, one.marked) for one in sources if one.per_cent]
    here = found.get(bay)
    turned_here = shares.get(str(bay.uid), 0) / 100
    stays = Lying(here.volume_l, 1 - turned_here, here.marked) if here and turned_here < 1 else None
    fit = will_it_fit(moved, bay.volume_ml / 1000, stays) if moved else None
    return Turning(bay, here.volume_l if here else 0.0, sources, fit)


def _lying(bay: Bay, batch: ledger.Batch | None, ahead: Foretold | None) -> Lying | None:
    return lying(batch, bay.volume_ml / 1000, ahead.still if ahead else None) if batch else None
