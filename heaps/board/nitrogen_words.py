"""What brings nitrogen to a heap, how much of each would do and how much is too much, with the guide's cautions."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from heaps import history, ledger
from heaps.board.board import used_at
from heaps.board.words import lower_first
from heaps.models import Bay, known_materials
from heaps.science.blend import Mix
from heaps.science.materials import Materials
from heaps.science.nitrogen import NITROGEN_SOURCES, NitrogenSource, enough_of, most_of
from heaps.science.recipe import LIFTED_ALONE_KG
from heaps.sums import mix_of

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


@dataclass(frozen=True)
class Told:
    """One source: litres that bring the heap to its range, the most it takes, and kilograms of one container of it."""

    name: str
    words: str
    enough_l: float | None
    most_l: float | None
    too_much: bool
    slow: bool
    cautions: tuple[str, ...]
    container: str
    container_kg: float
    heavy: bool
    source: str
    checked: str


def nitrogen_for(bay: Bay) -> tuple[Mix, tuple[Told, ...]]:
    """What lies in a bay as sums, and each source told for it. `bay.site` must have been fetched."""
    materials = known_materials()
    state = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState())
    batch = state.batch
    mix = mix_of(batch.content, materials, batch.water_ml) if batch else Mix()
    brown = used_at(bay.site, materials).brown
    container, container_l = (brown.container, brown.container_ml / 1000) if brown else ("", 0.0)
    return mix, tuple(_told(one, mix, materials, container, container_l) for one in NITROGEN_SOURCES)


def _told(source: NitrogenSource, mix: Mix, materials: Materials, container: str, container_l: float) -> Told:
    stuff = materials[source.feedstock]
    enough = enough_of(source, mix, materials=materials) if mix.dry_kg > 0 else None
    container_kg = container_l * (stuff.density_kg_m3 or 0) / 1000
    return Told(
        name=_(stuff.short),
        words=str(WORDS[source.feedstock]),
        enough_l=enough.litres if enough else None,
        most_l=most_of(source, mix) if mix.dry_kg > 0 else None,
        too_much=bool(enough and enough.litres and enough.too_much),
        slow=source.slow,
        cautions=source.cautions,
        container=lower_first(container),
        container_kg=container_kg,
        heavy=container_kg > LIFTED_ALONE_KG,
        source=source.source,
        checked=source.checked,
    )
