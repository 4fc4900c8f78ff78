"""Heaps, and what an experienced composter says of each and why: sources by their short names (science/sources.csv)."""

from dataclasses import dataclass, field

from heaps.science.advice import (
    Code,
    Signs,
)
from heaps.science.blend import Mix, Part, blend
from heaps.science.feedstocks import FEEDSTOCKS, wet_g

CARDBOARD, STRAW = FEEDSTOCKS["cardboard"], FEEDSTOCKS["straw-wheat"]
CONTAINER_L = 40.0
SQUEEZES = ("dust", "crumbles", "holds", "drops", "runs")
STAGES = ("filling", "working", "maturing", "ready")


def tipped(litres: dict[str, int], water_kg: float = 0.0) -> Mix:
    """A heap of so many litres of each, weighing what the table says."""
    loads = [Part(FEEDSTOCKS[key], wet_g(key, one * 1000) / 1000, one) for key, one in litres.items()]
    return blend(loads, water_kg)


@dataclass(frozen=True)
class Heap:
    """One heap, what an experienced composter says of it and why. `containers` holds the least and the most."""

    name: str
    litres: dict[str, int]
    says: Code
    why: str
    containers: tuple[int, int] | None = None
    signs: Signs = field(default_factory=Signs)
    water_kg: float = 0.0
    stage: str = "filling"


KITCHEN_AND_GARDEN = {"peelings": 100, "grass-fresh": 80, "prunings-soft": 150, "leaves-mixed": 200, "cardboard": 200}

HEAPS = [
    Heap("empty", {}, Code.EMPTY, "There is nothing to advise on; the bay asks for nothing."),
    Heap(
        "all grass",
        {"grass-fresh": 400},
        Code.BROWNS,
        "Ammonia and slime: at least its own volume of dry browns (EXT-TS; UCSONOMA two to three volumes of brown).",
        containers=(10, 30),
    ),
    Heap(
        "wet peelings",
        {"peelings": 100},
        Code.BROWNS,
        "Too wet and too rich at once: about twice its volume of torn cardboard (YPTE; common practice).",
        containers=(3, 6),
    ),
    Heap(
        "dry leaves in a leaf bin",
        {"leaves-mixed": 1000},
        Code.WATER,
        "Leaf mould needs no greens, only damp leaves (RHS-LM); loose dry leaves are too dry.",
    ),
    Heap(
        "wet leaves in a leaf bin",
        {"leaves-wet": 800},
        Code.LEAVES,
        "Damp leaves turn to leaf mould by themselves in one to two years (RHS-LM).",
    ),
    Heap(
        "dry leaves in a bay, watered",
        {"leaves-mixed": 700, "leaves-oak": 100},
        Code.LEAVES,
        "Leaves alone are leaf mould wherever they lie; adding greens is a choice, not a need (RHS-LM).",
        water_kg=40,
    ),
    Heap(
        "leaves that feel dusty",
        {"leaves-wet": 800},
        Code.WATER,
        "The hand counts: a leaf heap that crumbles has dried out and stands still (RHS-LM: keep it moist).",
        signs=Signs(squeeze="crumbles"),
    ),
    Heap(
        "cardboard and coffee, two to one",
        {"cardboard": 80, "coffee": 40},
        Code.STRUCTURE,
        "C:N and water are right, but both pack flat: more than a fifth of coffee wants twigs or chips through it.",
    ),
    Heap(
        "cardboard and coffee, six to one",
        {"cardboard": 240, "coffee": 40},
        Code.WATER,
        "Cardboard soaks up all the coffee's water: wet it (RHS-MC: soak card).",
    ),
    Heap(
        "kitchen and garden, balanced",
        KITCHEN_AND_GARDEN,
        Code.NOTHING,
        "A little under half soft green by volume, the rest brown (RHS-COMP 25 to 50 %): carry on like this.",
    ),
    Heap(
        "kitchen and garden, more green than brown",
        {"peelings": 150, "grass-fresh": 80, "prunings-soft": 200, "leaves-mixed": 200, "cardboard": 150},
        Code.BROWNS,
        "Over half soft green, much of it peelings (RHS-COMP): some more browns, before it turns slimy.",
        containers=(1, 6),
    ),
    Heap(
        "mostly soil",
        {"soil": 150, "grass-fresh": 150},
        Code.SOIL,
        "Earth does not compost; turf is stacked on its own (common practice).",
    ),
    Heap(
        "urine on straw, little",
        {"straw-wheat": 300, "urine": 10},
        Code.WATER,
        "Straw dry inside first needs wetting through; nothing works on dry straw.",
    ),
    Heap(
        "urine on straw, enough",
        {"straw-wheat": 300, "urine": 35},
        Code.NOTHING,
        "Ten litres or so to a barrow of straw is the old recipe: nitrogen and water come together.",
    ),
    Heap(
        "urine on straw, far too much",
        {"straw-wheat": 300, "urine": 140},
        Code.BROWNS,
        "It runs, and reeks of ammonia: more straw or card (EXT-TS).",
        containers=(4, 20),
    ),
    Heap(
        "manure with straw",
        {"horse-manure-straw": 400},
        Code.NOTHING,
        "Stable manure with its straw heats by itself (common practice).",
    ),
    Heap(
        "manure alone",
        {"horse-manure": 300},
        Code.BROWNS,
        "Heavy and without air: at least its own volume of something dry and loose (COOP02).",
        containers=(7, 20),
    ),
    Heap(
        "windfall apples",
        {"windfalls": 100},
        Code.BROWNS,
        "Balanced by C:N, yet a wet mass without any air: dry, loose browns between (common practice).",
        containers=(1, 10),
    ),
    Heap(
        "poultry litter, dusty",
        {"poultry-litter": 200},
        Code.SOAKED_BROWNS,
        "Rich and dry: plain water sets ammonia free, so browns, and those soaked (EXT-TS).",
        containers=(10, 20),
        signs=Signs(squeeze="dust"),
    ),
    Heap(
        "only wood chip",
        {"wood-chip": 500},
        Code.GREENS,
        "It is the frame for a heap, not a heap: without greens it lies for years (COMPHB).",
    ),
    Heap(
        "only cardboard",
        {"cardboard": 500},
        Code.GREENS_AND_WATER,
        "Dry and without nitrogen: greens, and wet it as it goes in (EXT-TS).",
    ),
    Heap(
        "only hay",
        {"hay": 500},
        Code.WATER,
        "Hay has nitrogen enough; dry it does nothing (EXT-TS).",
    ),
    Heap(
        "twigs, leaves and few greens",
        {"twigs-shredded": 200, "leaves-mixed": 300, "peelings": 40},
        Code.GREENS,
        "Damp and sweet but cold: low nitrogen (EXT-TS).",
        signs=Signs(squeeze="holds"),
    ),
    Heap(
        "balanced, but dust in the hand",
        KITCHEN_AND_GARDEN,
        Code.WATER,
        "The hand beats the sums: sun and wind have dried it (TK31).",
        signs=Signs(squeeze="dust"),
    ),
    Heap(
        "balanced, but it runs",
        {"peelings": 150, "grass-fresh": 100, "prunings-soft": 200, "leaves-mixed": 150, "cardboard": 60},
        Code.BROWNS,
        "The hand beats the sums: rain got in. Dry browns, and a lid (YPTE).",
        containers=(1, 15),
        signs=Signs(squeeze="runs"),
    ),
    Heap(
        "nettles and straw, rained through",
        {"nettles": 400, "straw-barley": 400},
        Code.BROWNS,
        "Right by the sums, but it runs: the rain in it wants drying up, several barrows' worth (YPTE).",
        containers=(6, 20),
        signs=Signs(squeeze="runs"),
    ),
    Heap(
        "brown enough, but it runs",
        {"cardboard": 300, "peelings": 80, "twigs-shredded": 100},
        Code.COVER,
        "More browns would stall it: fork it loose and keep the rain off (EXT-TS).",
        signs=Signs(squeeze="runs"),
    ),
    Heap(
        "wet by sums, right in the hand",
        {"peelings": 100, "cardboard": 120},
        Code.NOTHING,
        "The hand beats the sums: it has drained since (TK31).",
        signs=Signs(squeeze="drops"),
    ),
    Heap(
        "grass and leaves, much grass",
        {"grass-fresh": 300, "leaves-mixed": 150, "cardboard": 100},
        Code.STRUCTURE,
        "Sums right, but over half grass mats into felt (RHS-MC; EXT-TS matted layers).",
    ),
    Heap(
        "too hot",
        {"grass-fresh": 200, "horse-manure": 200, "straw-wheat": 300},
        Code.HOT,
        "Over 65 C the workers die: turn it (COR-PHYS).",
        signs=Signs(temp_c=67.0),
    ),
    Heap(
        "far too hot",
        {"grass-fresh": 200, "horse-manure": 200, "straw-wheat": 300},
        Code.VERY_HOT,
        "From 70 C turn it and wet it at once (SURREY).",
        signs=Signs(temp_c=73.0, squeeze="dust"),
    ),
    Heap(
        "burning hot",
        {"hay": 3000},
        Code.FIRE,
        "Over 80 C a heap that is opened may burst into flame: call the fire service (SURREY).",
        signs=Signs(temp_c=82.0),
    ),
    Heap(
        "hot and right",
        KITCHEN_AND_GARDEN,
        Code.NOTHING,
        "58 C is what a good heap does (COR-PHYS 43 to 66 C).",
        signs=Signs(temp_c=58.0, squeeze="holds"),
    ),
    Heap(
        "mostly old compost",
        {"compost": 300, "peelings": 60},
        Code.ROTTED,
        "Its C:N of about 14 is that of a finished heap and no fault (COR-CN: ends near 10).",
    ),
    Heap(
        "full",
        KITCHEN_AND_GARDEN,
        Code.FULL,
        "Nothing wrong with it, but no more fits: close it and feed the next bay.",
        signs=Signs(fill_per_cent=100),
    ),
    Heap(
        "full, but closed already",
        KITCHEN_AND_GARDEN,
        Code.NOTHING,
        "A closed bay may well be full.",
        signs=Signs(fill_per_cent=100),
        stage="working",
    ),
    Heap(
        "maturing",
        {"peelings": 200},
        Code.REST,
        "What went in half a year ago says nothing now; leave it be.",
        stage="maturing",
    ),
    Heap(
        "maturing, dried out",
        {"peelings": 200},
        Code.WATER,
        "Maturing goes on only while it is moist (COR-PHYS).",
        signs=Signs(squeeze="dust"),
        stage="maturing",
    ),
    Heap(
        "ready",
        {"peelings": 200},
        Code.READY,
        "Use it; no sum of inputs matters any more.",
        stage="ready",
    ),
]
