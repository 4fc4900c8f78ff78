"""What brings nitrogen to a heap, how much of each would do and how much is too much, with the guide's cautions."""

from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from heaps import history, ledger
from heaps.board.board import used_at
from heaps.board.words import lower_first
from heaps.models import Bay, known_materials, targets_here
from heaps.science.blend import PACKING, Mix
from heaps.science.materials import Materials
from heaps.science.nitrogen import NITROGEN_SOURCES, NitrogenSource, enough_of, most_of
from heaps.science.recipe import LIFTED_ALONE_KG
from heaps.sums import mix_of, room_l

#: What to mind of each beside the guide's own cautions; figures and their sources stand in the core.
WORDS = {
    "grass-fresh": _lazy("In thin layers, with browns between: it mats."),
    "coffee": _lazy("Fine stuff packs down: mix it in."),
    "urine": _lazy("Fresh, on dry browns, poured slowly. Not from people who take medicine: it can last."),
    "horse-manure-straw": _lazy("Ask about weedkiller in the hay. Sow a bean test first."),
    "cattle-manure": _lazy("Wet and dense: fork it apart, with straw."),
    "poultry-manure": _lazy("Strong: it burns plants and smells. A little goes far."),
    "nettles": _lazy("Cut before they seed. Roots go into the soaking tub."),
    "comfrey": _lazy("Leaves only: its roots grow again."),
    "seaweed": _lazy("Rinse off the salt. Ask before you take it from a beach."),
    "hair": _lazy("Teased out and thin. It counts little in the first year."),
    "wool": _lazy("Teased out and thin. It counts little in the first year."),
    "feathers": _lazy("Damp, buried, thin. They count little in the first year."),
}
#: What is poured and comes in no barrow or sack, so that no container of it is heavy.
POURED = frozenset({"urine"})


@dataclass(frozen=True)
class Heap:
    """What lies in a bay as sums, the C:N that it is brought to, and litres as tipped that fit in: those that still do,
    or, where nobody knows how full it is, those that fit into the whole bay."""

    mix: Mix
    goal: float
    room_l: float

    @property
    def lacks(self) -> bool:
        """Whether nitrogen would help."""
        return self.mix.c_to_n is not None and self.mix.c_to_n > self.goal

    @property
    def is_full(self) -> bool:
        """Whether nothing more goes in, by the last look."""
        return self.room_l == 0


@dataclass(frozen=True)
class Told:
    """One source: litres that bring the heap to its range, the most it takes, and kilograms of one container of it."""

    name: str
    words: str
    enough_l: float | None
    most_l: float | None
    too_much: bool
    no_room: bool
    slow: bool
    cautions: tuple[str, ...]
    container: str
    container_kg: float
    heavy: bool
    source: str
    checked: str


def nitrogen_for(bay: Bay, now: datetime) -> tuple[Heap, tuple[Told, ...]]:
    """What lies in a bay, and each source told for it. `bay.site` must have been fetched."""
    materials = known_materials()
    state = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState())
    batch = state.batch
    mix = mix_of(batch.content, materials, batch.water_ml) if batch else Mix()
    room = room_l(state, bay.volume_ml, now)
    heap = Heap(mix, targets_here().c_to_n[1], (bay.volume_ml / 1000 if room is None else room) * PACKING)
    brown = used_at(bay.site, materials).brown
    container, container_l = (brown.container, brown.container_ml / 1000) if brown else ("", 0.0)
    return heap, tuple(_told(one, heap, materials, container, container_l) for one in NITROGEN_SOURCES)


def _told(source: NitrogenSource, heap: Heap, materials: Materials, container: str, container_l: float) -> Told:
    stuff, mix = materials[source.feedstock], heap.mix
    enough = enough_of(source, mix, heap.goal, materials) if mix.dry_kg > 0 else None
    litres = enough.litres if enough else 0.0
    container_kg = container_l * (stuff.density_kg_m3 or 0) / 1000
    return Told(
        name=_(stuff.short),
        words=str(WORDS[source.feedstock]),
        enough_l=litres,
        most_l=_most_l(source, heap),
        too_much=bool(litres and enough and enough.too_much),
        no_room=litres > heap.room_l,
        slow=source.slow,
        cautions=source.cautions,
        container=lower_first(container),
        container_kg=container_kg,
        heavy=source.feedstock not in POURED and container_kg > LIFTED_ALONE_KG,
        source=source.source,
        checked=source.checked,
    )


def _most_l(source: NitrogenSource, heap: Heap) -> float | None:
    """The most that the heap takes, and no more than fits in; None where nothing lies here, or nothing more goes in."""
    if heap.mix.dry_kg <= 0 or heap.is_full:
        return None
    known = most_of(source, heap.mix)
    return heap.room_l if known is None else min(known, heap.room_l)
