"""What an entry brings into a bay, in grams and litres. What was estimated gets its grams by the bulk density that the
cooperative's materials have for the moment of the entry."""

from datetime import datetime

from heaps.ledger.heap import Content, Load, added
from heaps.ledger.kinds import Dropoff, Entry, Opening
from heaps.science.materials import Materials


def content_of(entry: Entry, materials: Materials) -> Content:
    """What an entry brought in as content: nothing, but of a drop-off or an opening."""
    what, content = entry.what, Content()
    if isinstance(what, Dropoff):
        return Content([load_of(what, entry.at, materials)])
    if isinstance(what, Opening):
        for feedstock, per_cent in what.make_up:
            volume_ml = what.volume_ml * per_cent // 100
            load = Load(materials.wet_g(feedstock, volume_ml, entry.at), volume_ml)
            content = added(content, f"{feedstock}/opening", load)
    return content


def load_of(what: Dropoff, at: datetime, materials: Materials) -> tuple[str, Load]:
    """A drop-off, and under what it stands in a content: what was weighed is kept apart from what was estimated."""
    basis, load = tipped(what, at, materials)
    return f"{what.feedstock}/{basis}", load


def tipped(what: Dropoff, at: datetime, materials: Materials) -> tuple[str, Load]:
    """What a drop-off brought, and whether it was weighed or estimated. A weighed figure beats an estimate."""
    volume_ml = what.half_containers * what.container_ml // 2
    if what.weighed_g is not None:
        return "weighed", Load(what.weighed_g, volume_ml)
    return "estimated", Load(materials.wet_g(what.feedstock, volume_ml, at), volume_ml)
