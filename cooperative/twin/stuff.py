"""What loads are made of in these worlds: pools of their own, not the living heap's fast and slow."""

from collections.abc import Mapping, Sequence

import numpy as np

from cooperative.twin.lies import Load
from cooperative.twin.worlds import Nature
from heaps.science.blend import Part, blend
from heaps.science.feedstocks import FEEDSTOCKS
from heaps.science.living.parameters import Array

#: Of organic matter: soluble, cellulosic, resistant; what is left counts as humus (from memory of fibre analyses).
POOLS_OF: Mapping[str, tuple[float, float, float]] = {
    "kitchen": (0.55, 0.28, 0.10),
    "grass": (0.45, 0.35, 0.12),
    "soft green": (0.30, 0.40, 0.18),
    "manure": (0.16, 0.36, 0.25),
    "coffee": (0.25, 0.30, 0.28),
    "woody": (0.05, 0.22, 0.38),
    "cardboard": (0.06, 0.50, 0.26),
    "straw": (0.10, 0.42, 0.26),
    "leaves mixed": (0.12, 0.24, 0.38),
}
#: What is tipped in these worlds, and how much of it is usual, by litres.
MATERIALS: Mapping[str, float] = {
    "peelings": 0.22,
    "grass-fresh": 0.20,
    "hedge-leafy": 0.18,
    "horse-manure-straw": 0.10,
    "leaves-mixed": 0.14,
    "cardboard": 0.08,
    "twigs-shredded": 0.08,
}


def of_a_litre(key: str) -> Mapping[str, float]:
    """What a tipped litre of a material brings by the one table, kg."""
    stuff = FEEDSTOCKS[key]
    density = stuff.density_kg_m3 or 0.0
    mix = blend([Part(stuff, density / 1000, 1.0)])
    organic = mix.dry_kg - mix.ash_kg
    soluble, cellulosic, resistant = POOLS_OF[stuff.ash_class]
    return {
        "soluble": organic * soluble,
        "cellulosic": organic * cellulosic,
        "resistant": organic * resistant,
        "humus": organic * (1 - soluble - cellulosic - resistant),
        "ash": mix.ash_kg,
        "water": mix.water_kg,
        "carbon_per_nitrogen": mix.c_to_n or 30.0,
    }


LITRE: Mapping[str, Mapping[str, float]] = {key: of_a_litre(key) for key in MATERIALS}


def load(litres: Array, keys: Sequence[str], dense: Array, damp: Array, nature: Nature) -> Load:
    """Heaps x materials in litres as they were tipped, with how dense and damp each is at that cooperative."""
    sums = {
        name: np.zeros((len(litres), 1)) for name in ("soluble", "cellulosic", "resistant", "humus", "ash", "water")
    }
    nitrogen = np.zeros((len(litres), 1))
    for place, key in enumerate(keys):
        kilograms = (litres[:, place] * dense[:, place])[:, None] * nature.weighs
        of = LITRE[key]
        for name in sums:
            sums[name] += kilograms * of[name] * (damp[:, place, None] if name == "water" else 1.0)
        organic = of["soluble"] + of["cellulosic"] + of["resistant"] + of["humus"]
        nitrogen += kilograms * organic / of["carbon_per_nitrogen"]
    rotting = sums["soluble"] + sums["cellulosic"] + sums["resistant"]
    more = np.clip((nature.rots - 1) * rotting, -0.5 * rotting, 0.8 * sums["humus"])
    for name in ("soluble", "cellulosic", "resistant"):
        sums[name] += more * sums[name] / np.maximum(rotting, 1e-9)
    sums["humus"] -= more
    organic_kg = rotting + sums["humus"] + more
    volume_m3 = litres.sum(1, keepdims=True) / 1000 / nature.packing
    ratio = np.where(nitrogen > 0, organic_kg / np.maximum(nitrogen, 1e-9), 30.0)
    return Load(**sums, volume_m3=volume_m3, carbon_per_nitrogen=ratio)
