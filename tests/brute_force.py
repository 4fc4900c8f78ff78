"""Every choice of whole containers, tried by the ratios themselves: what the integer programme is held to."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heaps.science.blend import ASH_KG_M3, ORGANIC_KG_M3, PACKING, WATER_KG_M3, Mix
from heaps.science.fewest import Pile
from heaps.science.targets import INSIDE, Targets

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Best:
    """The least containers over all choices in range; of these the least materials; of these the least weight."""

    containers: float
    materials: int
    kg: float


def best(mix: Mix, piles: Sequence[Pile], targets: Targets, inside: float = INSIDE) -> Best | None:
    """None if no choice is in range. Nothing here is taken from the programme but the two constants of the sums."""
    counts = np.stack(
        [one.ravel() for one in np.meshgrid(*(np.arange(pile.count + 1) for pile in piles), indexing="ij")], axis=1
    ).astype(float)
    within = _within(mix, piles, targets, counts, inside)
    if not within.any():
        return None
    counts = counts[within]
    containers = counts @ np.array([pile.containers for pile in piles])
    materials = (counts > 0).sum(axis=1)
    kg = counts @ np.array([pile.one.wet_kg for pile in piles])
    order = np.lexsort((kg, materials, containers))
    return Best(float(containers[order[0]]), int(materials[order[0]]), float(kg[order[0]]))


def _within(mix: Mix, piles: Sequence[Pile], targets: Targets, counts: Numbers, inside: float) -> NDArray[np.bool_]:
    def total(name: str) -> Numbers:
        added: Numbers = counts @ np.array([float(getattr(pile.one, name)) for pile in piles])
        return added + float(getattr(mix, name))

    wet, dry, ash, tipped = total("wet_kg"), total("dry_kg"), total("ash_kg"), total("tipped_l")
    with np.errstate(divide="ignore", invalid="ignore"):
        c_to_n = total("carbon_kg") / total("nitrogen_kg")
        moisture = (wet - dry) / wet
        density = wet / (tipped / PACKING) * 1000
        organic = 1 - ash / dry
        solid = moisture / WATER_KG_M3 + (1 - moisture) * (organic / ORGANIC_KG_M3 + (1 - organic) / ASH_KG_M3)
        air = 1 - density * solid
        within: NDArray[np.bool_] = (
            _between(c_to_n, *targets.c_to_n, inside)
            & _between(moisture, *targets.moisture, inside)
            & (air >= targets.least_air * (1 + inside))
        )
        for one, share in targets.most_share.items():
            of_class = counts @ np.array([pile.one.class_l.get(one, 0.0) for pile in piles])
            within &= (of_class + mix.class_l.get(one, 0.0)) / tipped <= share
    return within


def _between(figure: Numbers, least: float, most: float, inside: float) -> NDArray[np.bool_]:
    return (figure >= least * (1 + inside)) & (figure <= most * (1 - inside))
