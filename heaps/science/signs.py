"""The published table of signs: what each may come from, what to do, when to look again. The words are the guide's."""

from dataclasses import dataclass
from enum import StrEnum

#: What is said to rest on no source, but on what composters usually do.
PRACTICE = "practice"
#: A sign is looked at again after a week (common practice), unless it says otherwise.
WEEK = 7


class Cause(StrEnum):
    """What a sign may come from."""

    TOO_GREEN = "too green"
    LIME_OR_ASH = "lime or ash"
    NO_AIR = "no air"
    TOO_WET = "too wet"
    NO_ROOF = "no roof"
    TOO_DRY = "too dry"
    TOO_BROWN = "too brown"
    DONE = "done"
    SMALL = "small"
    WINTER = "winter"
    DRY_EDGES = "dry edges"
    USED_UP = "air or water used up"
    BIG_AND_RICH = "big and rich"
    OPEN_FRUIT = "fruit lies open"
    MEAT_OR_DUNG = "meat, cheese or dung"
    FOOD = "food"
    QUIET = "quiet and dry"
    SHEETS = "lies in sheets"
    TOUGH_LEAVES = "tough leaves"
    WOODY = "woody"
    NEVER_TURNED = "never turned"
    SEED_LIVED = "seed lived"
    ROOTS_LIVE = "roots live"
    TOO_YOUNG = "too young"
    WEEDKILLER = "weedkiller"


class Do(StrEnum):
    """What is done about a sign."""

    MIX_BROWNS = "mix in dry browns"
    CAP = "cap it with browns"
    NO_ASH = "no ash"
    TURN_COARSE = "turn with coarse, dry stuff"
    COVER = "cover"
    DRAIN = "drain"
    NO_KITCHEN = "no wet kitchen scraps for two weeks"
    BASE = "dry browns at the bottom"
    TURN_AND_WATER = "turn and water in layers"
    GREENS = "add greens"
    DAMP_FIRST = "damp it first"
    REST = "let it mature"
    BUILD = "build it in one go"
    WRAP = "wrap it"
    OUTSIDE_IN = "outside to the inside"
    SPLIT = "turn, wet and split"
    BURY = "bury the peelings"
    TAKE_OUT = "take it out"
    KEEP_FOOD_OUT = "keep food out"
    MESH = "mesh below"
    DISTURB = "turn it often, keep it damp"
    TELL = "tell a coordinator"
    LEAVE_NEST = "leave the nest"
    BREAK_UP = "break the sheets up"
    SHRED = "wet and shred"
    SIEVE = "sieve it"
    HOE = "hoe, or under mulch"
    DROWN = "drown them"
    ON_TOP = "on top only"
    STOP_USE = "stop use, sow beans"


@dataclass(frozen=True)
class Sign:
    """One sign. `recorded` is the word that a reading has for it, if there is one."""

    key: str
    causes: tuple[Cause, ...]
    why: tuple[str, ...]
    do: tuple[Do, ...]
    how: tuple[str, ...]
    recorded: str = ""
    look_again_days: int = WEEK


_ROWS = (
    Sign(
        "ammonia", (Cause.TOO_GREEN, Cause.LIME_OR_ASH), ("EXT-TS", "COR-MIX"),
        (Do.MIX_BROWNS, Do.CAP, Do.NO_ASH), ("EXT-TS",), "ammonia",
    ),
    Sign(
        "rotten", (Cause.TOO_WET, Cause.NO_AIR, Cause.SHEETS, Cause.NO_ROOF), ("EXT-TS", "YPTE"),
        (Do.TURN_COARSE, Do.COVER, Do.DRAIN), ("EXT-TS",), "rotten",
    ),
    Sign(
        "wet", (Cause.TOO_GREEN, Cause.NO_ROOF, Cause.TOO_WET), ("YPTE", "COMPHB"),
        (Do.TURN_COARSE, Do.COVER, Do.NO_KITCHEN), ("YPTE",), "slimy", 2 * WEEK,
    ),
    Sign(
        "juice", (Cause.TOO_WET, Cause.NO_ROOF), ("mem-H",), (Do.COVER, Do.BASE), ("mem-M",),
    ),
    Sign(
        "dry", (Cause.TOO_DRY, Cause.TOO_BROWN), ("EXT-TS", "COMPHB"),
        (Do.TURN_AND_WATER, Do.GREENS), ("EXT-TS",), "dusty",
    ),
    Sign("white", (Cause.TOO_DRY,), ("EXT-TS",), (Do.DAMP_FIRST, Do.TURN_AND_WATER), ("EXT-TS", "RHS-HS")),
    Sign(
        "cold-sweet", (Cause.TOO_BROWN, Cause.DONE), ("EXT-TS",), (Do.GREENS, Do.REST), ("EXT-TS",),
    ),
    Sign(
        "cold-small", (Cause.SMALL, Cause.WINTER), ("RHS-COMP", "RHS-TRIAL"), (Do.BUILD, Do.WRAP),
        ("EXT-TS", "RHS-TRIAL"), look_again_days=2 * WEEK,
    ),
    Sign("warm-middle", (Cause.SMALL, Cause.DRY_EDGES), ("EXT-TS",), (Do.WRAP, Do.OUTSIDE_IN), ("EXT-TS",)),
    Sign(
        "cooled", (Cause.TOO_DRY, Cause.USED_UP), ("USDA-317", "COR-PHYS"), (Do.TURN_AND_WATER,), ("USDA-317",),
        look_again_days=3,  # a turned heap heats in two to three days (COR-PHYS, read)
    ),
    Sign(
        "too-hot", (Cause.BIG_AND_RICH,), ("COR-PHYS", "MB-AG"), (Do.SPLIT,), ("SURREY",), look_again_days=1,
    ),
    Sign("ants", (Cause.TOO_DRY,), (PRACTICE,), (Do.TURN_AND_WATER,), (PRACTICE,), "ants"),
    Sign("fruit-flies", (Cause.OPEN_FRUIT,), ("EXT-TS",), (Do.BURY, Do.CAP), ("EXT-TS",), "flies"),
    Sign(
        "flies", (Cause.MEAT_OR_DUNG,), ("EXT-TS", "mem-H"),
        (Do.TAKE_OUT, Do.CAP, Do.TURN_COARSE), ("EXT-TS",), "flies",
    ),
    Sign(
        "rats", (Cause.FOOD, Cause.QUIET, Cause.TOO_DRY), ("TESTVAL",),
        (Do.KEEP_FOOD_OUT, Do.MESH, Do.DISTURB, Do.TELL), ("TESTVAL",), "rats", 3,
    ),
    Sign("wasps", (Cause.OPEN_FRUIT,), ("mem-M",), (Do.CAP, Do.LEAVE_NEST), ("mem-M",)),
    Sign("matted", (Cause.SHEETS,), ("EXT-TS",), (Do.BREAK_UP,), ("EXT-TS",), "matted"),
    Sign(
        "leaves-unchanged", (Cause.TOO_DRY, Cause.TOUGH_LEAVES), ("RHS-LM", "mem-H"), (Do.SHRED, Do.GREENS),
        ("mem-H",), look_again_days=8 * WEEK,
    ),
    Sign("lumpy", (Cause.WOODY, Cause.NEVER_TURNED), ("YPTE",), (Do.SIEVE,), ("YPTE",)),
    Sign("seedlings", (Cause.SEED_LIVED,), ("ASKORG",), (Do.HOE, Do.DROWN), ("ASKORG",), "seedlings"),
    Sign("shoots", (Cause.ROOTS_LIVE,), ("GO-WEED",), (Do.DROWN,), ("GO-WEED",), "shoots"),
    Sign(
        "yellow", (Cause.TOO_YOUNG, Cause.TOO_BROWN), ("mem-H",), (Do.REST, Do.ON_TOP), ("mem-H",),
        look_again_days=4 * WEEK,
    ),
    Sign(
        "cupped", (Cause.WEEDKILLER,), ("HORFIELD",), (Do.STOP_USE, Do.TELL), ("HORFIELD",), look_again_days=4 * WEEK,
    ),
)  # fmt: skip

SIGNS: dict[str, Sign] = {one.key: one for one in _ROWS}


def watched_as(key: str) -> str:
    """Under what a sign is looked at again: the word that a reading has for it, else its key."""
    return SIGNS[key].recorded or key


def watched(word: str) -> tuple[Sign, ...]:
    """The signs that may stand behind what is looked at again."""
    return of_reading(word) or ((SIGNS[word],) if word in SIGNS else ())


def of_reading(word: str) -> tuple[Sign, ...]:
    """The signs that a word of a reading may mean."""
    return tuple(one for one in _ROWS if one.recorded == word)
