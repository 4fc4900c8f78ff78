"""Letters to /sync/ that are wrong in one way or several: each from a number, so that it can be made again.

Most are valid letters with something changed in them. An entry that was changed so that it must be refused is known;
of the others only what the answer says must be true. In each readable letter one entry is left as it should be.
"""

import gzip
import json
import random
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

MOST_AT_ONCE = 50
KINDS: dict[str, dict[str, Any]] = {
    "dropoff": {"feedstock": "grass-fresh", "half_containers": 4, "container_ml": 10_000, "weighed_g": 900},
    "reading": {"temp_tenths_c": 455, "place": "core", "depth_cm": 30, "squeeze": "holds", "signs": []},
    "water": {"volume_ml": 10_000},
    "harvest": {"half_bags": 2, "bag_ml": 40_000, "per_cent": 5, "sieved": "coarse"},
    "hours": {"minutes": 60, "people": 3},
    "refused_load": {"feedstock": "grass-fresh", "why": "no room"},
    "session": {"sort": "talk", "people": 12},
}
WITHOUT_BAY = ("hours", "refused_load", "session")
#: What no field of an entry may hold, whatever it is, but for words and a giver.
NEVER: tuple[Any, ...] = (
    {}, {"a": 1}, [[]], -1, 10**17, 1.5, -0.0, float("nan"), float("inf"), float("-inf"), 10**40, "\ud800", "\x00",
    "x" * 5_000, "1", True,
)  # fmt: skip
#: What may do for one field and not for another.
ANY: tuple[Any, ...] = (*NEVER, None, 0, 1, "", [], "core", "2026-05-01T10:00:00Z", "0001-01-01T00:00:00+14:00", False)
NUMBERS = ("half_containers", "container_ml", "volume_ml", "half_bags", "bag_ml", "minutes", "people")


@dataclass(frozen=True)
class Ground:
    """What the server has: whose letters these are, and where."""

    person: str
    site: str
    bays: tuple[str, ...]


@dataclass
class Body:
    """What is sent. `refused` and `good` are numbers of entries that must be refused, and that must go in."""

    data: bytes
    headers: dict[str, str] = field(default_factory=lambda: {"Content-Type": "application/json"})
    refused: set[str] = field(default_factory=set)
    good: set[str] = field(default_factory=set)
    length: int | None = None  # what is claimed, if it is wrong
    chunked: bool = False


def body_of(seed: int, number: int, ground: Ground) -> Body:
    """The body with that number."""
    chance = random.Random(f"{seed}/{number}")
    (make,) = chance.choices(
        [structured, broken_text, broken_letter, raw_bytes, packed, lengths], [60, 12, 12, 8, 4, 4]
    )
    return make(chance, ground)


def structured(chance: random.Random, ground: Ground) -> Body:
    """A readable letter, some of whose entries are wrong."""
    good = [entry(chance, ground) for _ in range(chance.randint(1, 2))]
    wrong: list[Any] = []
    refused = set()
    for _ in range(chance.randint(1, 5)):
        one = entry(chance, ground)
        if chance.choice(WRONGS)(chance, one):
            refused.add(one["uid"])
        wrong.append(one)
    wrong += chance.choices((None, 5, "entry", [], [[]], {}, float("nan")), k=chance.randint(0, 2))
    entries = [*good, *wrong]
    chance.shuffle(entries)
    text = json.dumps(letter(chance, ground, entries))
    return Body(text.encode(), refused=refused, good={one["uid"] for one in good})


def broken_text(chance: random.Random, ground: Ground) -> Body:
    """A valid letter, some of whose text is what no JSON has, or has twice."""
    text = json.dumps(letter(chance, ground, [entry(chance, ground) for _ in range(3)]))
    places = [place for place, mark in enumerate(text) if mark in '{[,:"}]']
    at = chance.choice(places)
    deep = chance.choice((5, 400, 990, 10_000))
    put: str = chance.choice((
        '"uid": "twice", ', '"entries": [], ', '"person": null, ', "NaN", "-Infinity", "1e999", "9" * 5_000, "-" * 30,
        "[" * deep, "[" * deep + "]" * deep, '{"a":' * deep, '"\\ud800"', '"\\u0000"', "\x00", "\ufeff", "//", ",,",
    ))  # fmt: skip
    data = (text[:at] + put + text[at + chance.randint(0, 1) :]).encode()
    if chance.random() < 0.3:
        at = chance.randrange(len(data))
        data = data[:at] + chance.choice((b"\xff", b"\xc0\x80", b"\xed\xa0\x80", b"\xf8\x88\x80\x80\x80")) + data[at:]
    return Body(data)


def broken_letter(chance: random.Random, ground: Ground) -> Body:
    """A letter whose own fields are wrong, or that holds far too much."""
    said = letter(chance, ground, [entry(chance, ground) for _ in range(2)])
    for name in chance.sample(sorted(said), chance.randint(1, 3)):
        if chance.random() < 0.3:
            del said[name]
        else:
            said[name] = chance.choice(ANY)
    if chance.random() < 0.2:
        said["entries"] = [entry(chance, ground)] * chance.choice((0, MOST_AT_ONCE, MOST_AT_ONCE + 1, 3_000))
    if chance.random() < 0.1:
        said["entries"] = chance.choice(("x" * 2_000_000, [0] * 100_000, [[]] * 200_000))
    if chance.random() < 0.2:
        said["key"] = chance.choice(ANY)
    return Body(json.dumps(said).encode())


def raw_bytes(chance: random.Random, ground: Ground) -> Body:
    """A valid letter with bytes turned, cut out or put in; or bytes that are nothing at all."""
    if chance.random() < 0.2:
        return Body(chance.randbytes(chance.choice((0, 1, 50, 5_000, 1_200_000))))
    data = bytearray(json.dumps(letter(chance, ground, [entry(chance, ground) for _ in range(3)])).encode())
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(data))
        how = chance.random()
        if how < 0.5:
            data[at] ^= 1 << chance.randrange(8)
        elif how < 0.75:
            del data[at : at + chance.randint(1, 40)]
        else:
            data[at:at] = chance.randbytes(chance.randint(1, 8))
        data = data or bytearray(b"{")
    return Body(bytes(data), {"Content-Type": chance.choice(("application/json",) * 4 + ("text/plain", "\x7f", ""))})


def packed(chance: random.Random, ground: Ground) -> Body:
    """Packed so that little grows large, or said to be packed. Nothing is ever unpacked here."""
    data = chance.choice(bombs()) if chance.random() < 0.5 else json.dumps(letter(chance, ground, [])).encode()
    how = chance.choice(("gzip", "br", "deflate", "gzip, gzip", "identity, gzip", "zstd"))
    return Body(data, {"Content-Type": "application/json", "Content-Encoding": how})


@cache
def bombs() -> tuple[bytes, ...]:
    """Some hundred kilobytes that would unpack to 20 and 10 million."""
    return gzip.compress(b"[" * 20_000_000, 1), gzip.compress(b'{"entries": [' + b"0," * 5_000_000 + b"0]}", 1)


def lengths(chance: random.Random, ground: Ground) -> Body:
    """In pieces, or with a length that is not its own. One that is too long never ends: the sender hangs up."""
    one = entry(chance, ground)
    data = json.dumps(letter(chance, ground, [one])).encode()
    if chance.random() < 0.5:
        return Body(data, chunked=True)
    wrong = chance.choice((0, 1, len(data) - 1, len(data) // 2, len(data) + 1, 10**9, 10**30, -1))
    return Body(data, length=wrong)


def letter(chance: random.Random, ground: Ground, entries: list[Any]) -> dict[str, Any]:
    """A valid one."""
    return {
        "wire": 1,
        "device": str(uuid.UUID(int=7)),
        "person": ground.person,
        "sent_at": datetime.now(UTC).isoformat(),
        "waiting": len(entries),
        "entries": entries,
    }


def entry(chance: random.Random, ground: Ground) -> dict[str, Any]:
    """A valid one of some kind."""
    kind = chance.choice(sorted(KINDS))
    return {
        "wire": 1,
        "uid": str(uuid.UUID(int=chance.getrandbits(128), version=4)),
        "kind": kind,
        "site": ground.site,
        "bay": None if kind in WITHOUT_BAY else chance.choice(ground.bays),
        "occurred_at": (datetime.now(UTC) - timedelta(minutes=chance.randrange(10_000))).isoformat(),
        "by_hand": False,
        "details": json.loads(json.dumps(KINDS[kind])),
        "words": "",
    }


# Ways to spoil an entry. Each says whether it must now be refused.


def _a_number(chance: random.Random, one: dict[str, Any]) -> bool:
    names = [name for name in one["details"] if name in NUMBERS]
    if names:
        one["details"][chance.choice(names)] = chance.choice(NEVER)
    return bool(names)


def _a_word(chance: random.Random, one: dict[str, Any]) -> bool:
    names = [name for name in one["details"] if name in ("feedstock", "sieved", "why", "sort", "squeeze", "place")]
    if names:
        one["details"][chance.choice(names)] = chance.choice((*NEVER, "nothing of the kind", "diapers"))
    return bool(names)


def _a_field_too_many(chance: random.Random, one: dict[str, Any]) -> bool:
    one["details"][chance.choice(("extra", "", "\ud800", "__class__", "uid"))] = chance.choice(ANY)
    return True


def _no_details(chance: random.Random, one: dict[str, Any]) -> bool:
    one["details"] = chance.choice((None, 5, [], "x", float("nan"), [one["details"]]))
    return True


def _a_missing_field(chance: random.Random, one: dict[str, Any]) -> bool:
    gone = chance.choice(("kind", "site", "occurred_at", "details", "wire"))
    del one[gone]
    return True


def _another_kind(chance: random.Random, one: dict[str, Any]) -> bool:
    one["kind"] = chance.choice((*NEVER, "party", "", "Dropoff", "correction"))
    return True


def _odd_places(chance: random.Random, one: dict[str, Any]) -> bool:
    """What names no place as one is named is refused; a place that is not known is parked."""
    name = chance.choice(("site", "bay") if one["bay"] else ("site",))
    known = chance.random() < 0.3
    one[name] = str(uuid.uuid4()) if known else chance.choice((*NEVER, one[name].upper() + "A", f"{{{one[name]}}}", ""))
    return not known


def _odd_time(chance: random.Random, one: dict[str, Any]) -> bool:
    one["occurred_at"] = chance.choice((*NEVER, "", "yesterday", "2026-13-01T00:00:00Z", "2026-05-01T10:00:00"))
    return True


def _anything(chance: random.Random, one: dict[str, Any]) -> bool:
    """Nothing is known of what comes of it."""
    told = chance.choice((one, one["details"]))
    told[chance.choice(sorted(told))] = chance.choice(ANY)
    return False


def _odd_words(chance: random.Random, one: dict[str, Any]) -> bool:
    """Words may hold much, but not too much, and nothing but words."""
    one["words"] = chance.choice(("\x00\x00", "half a pair \ud800", "\u202e\u0000", "a" * 1_000, "\U0001f342" * 900))
    one["donor"] = chance.choice((*ANY, str(uuid.uuid4())))
    return False


def _deep(chance: random.Random, one: dict[str, Any]) -> bool:
    deep: Any = 1
    for _ in range(chance.choice((3, 60, 300))):
        deep = {"a": deep} if chance.random() < 0.5 else [deep]
    one["details"] = deep
    return True


WRONGS: tuple[Callable[[random.Random, dict[str, Any]], bool], ...] = (
    _a_number, _a_number, _a_word, _a_field_too_many, _no_details, _a_missing_field, _another_kind, _odd_places,
    _odd_time, _anything, _anything, _odd_words, _deep,
)  # fmt: skip
