"""What happens in a schedule: a pure function of its seed. Which entry is meant is found when it is played."""

import random
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from heaps.ledger import NEEDS_BAY
from heaps.ledger.choices import GATHERINGS, INCIDENTS, SIGNS, SQUEEZES, TUB_WEEDS, WHY_REFUSED
from tests.faults.answers import ANSWERS
from tests.faults.ground import BAYS, LEAVERS, PEOPLE, SITE, SPARE
from tests.faults.proxy import Fault

TABS = (2, 1, 1)  # of each phone
LEAST, MOST = 30, 34
WHOLE_SERVER_DIES = 0.04  # its start takes a second, so it dies in few schedules; single workers die in most
FEEDSTOCKS = ("grass-fresh", "coffee", "cardboard", "leaves-mixed")
SPOILED = (
    "no entry",
    "words for an entry",
    "no details",
    "another kind",
    "later wire",
    "another number",
    "number not a number",
)
DAY_S = 86_400
CLOCKS_S = (-3650 * DAY_S, -DAY_S, -5400, 0, 0, 5400, DAY_S, 3650 * DAY_S)
START = datetime(2026, 3, 1, 9, tzinfo=UTC)


@dataclass(frozen=True)
class Action:
    """One thing that happens. `pick` chooses among what is there by then, from 0 up to 1."""

    what: str
    phone: int = 0
    tab: int = 0
    pick: float = 0.0
    said: dict[str, Any] = field(default_factory=dict)
    posts: tuple[Fault, ...] = ()
    gets: tuple[Fault, ...] = ()

    def __str__(self) -> str:
        faults = [f"POST {one}" for one in self.posts] + [f"GET {one}" for one in self.gets]
        return " ".join([self.what, *(f"{key}={value}" for key, value in self.said.items()), *faults])


def schedule(seed: int) -> tuple[Action, ...]:
    """The actions of a seed: first each phone records, then anything may happen."""
    chance = random.Random(f"light phones {seed}")
    first = [_record(chance, phone) for phone in range(len(TABS)) for _ in range(2)]
    weights = list(HAPPENS.values())
    makers = chance.choices(list(HAPPENS), weights, k=chance.randint(LEAST, MOST) - len(first))
    then = [make(chance, chance.randrange(len(TABS))) for make in makers]
    if chance.random() < WHOLE_SERVER_DIES:
        then.insert(chance.randrange(len(then)), Action("server killed"))
    return (*first, *then)


def _record(chance: random.Random, phone: int) -> Action:
    return Action("record", phone, _tab(chance, phone), said=entry(chance))


def entry(chance: random.Random) -> dict[str, Any]:
    """What a form says."""
    kind = chance.choice(("dropoff",) * 8 + ("reading", "turn") * 2 + tuple(DETAILS))
    place = SPARE if chance.random() < 0.05 else chance.randrange(SPARE)
    said: dict[str, Any] = {
        "uid": number(chance),
        "kind": kind,
        "site": SITE,
        "bay": BAYS[place] if kind in NEEDS_BAY else None,
        "details": DETAILS[kind](chance),
        "words": chance.choice(("", "", "", "wet, from the lane", "héritage 🌱 <b>", "\u202e" + "x" * 40)),
    }
    if chance.random() < 0.15:  # a date typed in by hand
        said["when"] = (START + timedelta(hours=chance.randrange(2000))).isoformat()
    return said


def number(chance: random.Random) -> str:
    """A new entry's number."""
    return str(uuid.UUID(int=chance.getrandbits(128), version=4))


def _tab(chance: random.Random, phone: int) -> int:
    return chance.randrange(TABS[phone])


def _undo(chance: random.Random, phone: int) -> Action:
    return Action("undo", phone, _tab(chance, phone), chance.random())


def _correct(chance: random.Random, phone: int) -> Action:
    said = {"uid": number(chance), "half_containers": chance.randint(1, 9)}
    return Action("correct", phone, _tab(chance, phone), chance.random(), said)


def _correct_early(chance: random.Random, phone: int) -> Action:
    """A correction with the lowest number, sent one by one, and all that follows it cut off: its original waits."""
    early = str(uuid.UUID(int=chance.getrandbits(120), version=4))
    posts = (Fault("answer instead", answer="too large"), Fault(), *(Fault("drop"),) * 2)
    said = {"uid": early, "half_containers": chance.randint(1, 9), "entry": entry(chance) | {"kind": "dropoff"}}
    said["entry"] |= {"bay": BAYS[0], "details": DETAILS["dropoff"](chance), "uid": "f" + number(chance)[1:]}
    return Action("correct early", phone, _tab(chance, phone), said=said, posts=posts)


def _send(chance: random.Random, phone: int) -> Action:
    said = {"hurry": chance.random() < 0.7, "keeps_alive": chance.random() < 0.5}
    posts = tuple(_fault(chance) for _ in range(chance.choice((0, 0, 1, 1, 1, 2))))
    gets = (_fault(chance),) if chance.random() < 0.15 else ()
    if posts:  # there must be something to send
        said["first"] = entry(chance)
    return Action("send", phone, _tab(chance, phone), said=said, posts=posts, gets=gets)


def _fault(chance: random.Random) -> Fault:
    what = chance.choice(
        (
            "cut request",
            "cut answer",
            "cut answer",
            "drop",
            "drop answer",
            "hold request",
            "hold answer",
            "double",
            "answer instead",
            "answer instead",
            "answer after all",
        )
    )
    part = chance.randint(0, 10) / 10 if what.startswith("cut") else 1.0
    return Fault(what, part, chance.choice(list(ANSWERS)) if what.startswith("answer") else "")


def _send_at_once(chance: random.Random, phone: int) -> Action:
    """Every tab sends, and some more than once; with or without locks between them."""
    said = {"locks": chance.random() < 0.5, "times": chance.randint(1, 3)}
    posts = (_fault(chance),) if chance.random() < 0.3 else ()
    return Action("send at once", 0 if chance.random() < 0.7 else phone, said=said, posts=posts)


def _clock(chance: random.Random, phone: int) -> Action:
    return Action("clock", phone, said={"off_s": chance.choice(CLOCKS_S)})


def _switch(chance: random.Random, phone: int) -> Action:
    person = chance.choice((*PEOPLE.values(), None))
    return Action("switch user", phone, _tab(chance, phone), said={"person": person, "claim": chance.random() < 0.7})


def _spoil(chance: random.Random, phone: int) -> Action:
    return Action("spoil", phone, _tab(chance, phone), chance.random(), {"how": chance.choice(SPOILED)})


def _at_the_server(what: str, **said: Callable[[random.Random], Any]) -> Callable[[random.Random, int], Action]:
    def make(chance: random.Random, phone: int) -> Action:
        pick = chance.random()
        return Action(what, phone, _tab(chance, phone), pick, {key: choose(chance) for key, choose in said.items()})

    return make


def _bays(chance: random.Random) -> list[str]:
    return [BAYS[place] for place in chance.sample(range(SPARE), 2)]


#: What may happen, and how often beside the rest.
HAPPENS: dict[Callable[[random.Random, int], Action], int] = {
    _record: 36,
    _undo: 4,
    _correct: 6,
    _correct_early: 2,
    _send: 15,
    _send_at_once: 4,
    _clock: 4,
    _switch: 5,
    _spoil: 2,
    _at_the_server("tab closed"): 3,
    _at_the_server("session ends"): 4,
    _at_the_server("token lost"): 3,
    _at_the_server("person shut out", person=lambda chance: chance.choice(LEAVERS)): 2,
    _at_the_server("person erased", person=lambda chance: chance.choice(LEAVERS)): 2,
    _at_the_server("bay turned", bays=_bays, uid=number): 3,
    _at_the_server("bay closed", bays=_bays, uid=number): 2,
    _at_the_server("bay taken away"): 2,
    _at_the_server(
        "coordinator answers",
        uid=number,
        says=lambda chance: chance.choice(("withdraw", "instead", "stands")),
        half_containers=lambda chance: chance.randint(1, 9),
    ): 5,
    _at_the_server("worker killed"): 2,
    _at_the_server("worker killed after commit"): 2,
    _at_the_server("database locked"): 1,
    _at_the_server("backup"): 2,
    _at_the_server("restore"): 2,
}

DETAILS: dict[str, Callable[[random.Random], dict[str, Any]]] = {
    "opening": lambda chance: {
        "volume_ml": chance.randint(1_000, 900_001),
        "age_days": 30,
        "make_up": [["coffee", 100]],
    },
    "dropoff": lambda chance: {
        "feedstock": chance.choice(FEEDSTOCKS),
        "half_containers": chance.randint(1, 9),
        "container_ml": chance.choice((10_000, 80_000)),
    },
    "reading": lambda chance: {
        "temp_tenths_c": chance.randint(-50, 750),
        "squeeze": chance.choice(SQUEEZES),
        "signs": chance.sample(SIGNS, 2),
    },
    "water": lambda chance: {"volume_ml": chance.randint(100, 20_001)},
    "turn": lambda chance: {
        "sources": [{"bay": bay, "per_cent": chance.choice((100, 50, 33))} for bay in _bays(chance)]
    },
    "close": lambda _chance: {},
    "reopen": lambda _chance: {},
    "verdict": lambda chance: {"test": "look", "ready": chance.choice(("ready", "not yet"))},
    "harvest": lambda chance: {
        "half_bags": chance.randint(0, 30),
        "bag_ml": 40_000,
        "per_cent": chance.choice((100, 50, 7)),
        "sieved": "coarse",
    },
    "tip_out": lambda _chance: {},
    "collection": lambda chance: {"half_bags": chance.randint(1, 9), "bag_ml": 40_000},
    "hours": lambda chance: {"minutes": chance.randint(1, 300), "people": chance.randint(1, 5)},
    "note": lambda _chance: {},
    "refused_load": lambda chance: {"feedstock": "coffee", "why": chance.choice(WHY_REFUSED)},
    "cover": lambda chance: {"way": chance.choice(("on", "off"))},
    "stocktake": lambda chance: {"half_containers": chance.randint(0, 9), "container_ml": 40_000},
    "spread": lambda chance: {"tenths_m2": chance.randint(1, 999)},
    "soak": lambda chance: {
        "weed": chance.choice(TUB_WEEDS),
        "way": "in",
        "half_containers": 2,
        "container_ml": 10_000,
    },
    "weighing": lambda chance: {"feedstock": "coffee", "container_ml": 10_000, "full_g": 9_000, "empty_g": 800},
    "session": lambda chance: {"sort": chance.choice(GATHERINGS), "people": chance.randint(1, 40)},
    "incident": lambda chance: {"what": chance.choice(INCIDENTS)},
}
