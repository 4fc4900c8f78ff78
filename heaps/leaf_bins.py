"""The clock of a leaf bin: when it may be a mulch and when fine, by the kinds of leaf that lie in it."""

from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from heaps.ledger import Batch
from heaps.models import Bay, known_materials
from heaps.science.leaf_mould import KINDS, Advice, LeafClock, leaf_clock, slowest
from heaps.sums import fresh

DRY = ("dust", "crumbles")
TOUGH, SOFT = ("leaves-thick",), ("leaves-quick", "leaves-mixed", "leaves-oak", "leaves-beech")


@dataclass(frozen=True)
class Kind:
    """One kind of leaf in a bin: what it is called and its clock; `shredded` is that of shredded leaves."""

    name: str
    whole: LeafClock
    shredded: LeafClock | None
    decides: bool


@dataclass(frozen=True)
class LeafBin:
    """All kinds in a bin, the slowest first: it decides. `mixed` says that tough leaves lie with soft ones."""

    kinds: tuple[Kind, ...]
    dry: bool
    mixed: bool


def leaf_bin(bay: Bay, batch: Batch | None, now: datetime) -> LeafBin | None:
    """The clock of a leaf bin; None where there is no bin of leaves, or no leaf that anybody has timed."""
    if batch is None or bay.kind != Bay.Kind.LEAF:
        return None
    keys = {key.partition("/")[0] for key in batch.content} & KINDS.keys()
    if not keys:
        return None
    filled = bay.site.day_of(batch.fed_at or batch.began)
    dry = fresh(batch.squeeze, batch, now) in DRY
    last, materials = slowest(keys), known_materials()
    kinds = tuple(
        Kind(
            _(materials[key].short),
            leaf_clock(key, filled, dry=dry),
            leaf_clock(key, filled, shredded=True) if Advice.SHRED in KINDS[key].advice and not dry else None,
            key == last,
        )
        for key in sorted(keys, key=lambda key: (key != last, key))
    )
    return LeafBin(kinds, dry, bool(keys & set(TOUGH)) and bool(keys & set(SOFT)))
