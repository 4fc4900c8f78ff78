"""The kinds of entry: what a phone may say happened. Each field carries the bounds that the wire checks.

Quantities are whole numbers: grams, millilitres, tenths of a degree, half containers, half bags, minutes.
An entry never names a batch. Phones know bays and times; replay finds the batch.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, NamedTuple

from heaps.ledger.checks import maybe_several, maybe_special, maybe_whole, maybe_word, special, whole, word
from heaps.ledger.choices import PLACES, SQUEEZES
from heaps.ledger.further_kinds import Cover as Cover
from heaps.ledger.further_kinds import Gathering as Gathering
from heaps.ledger.further_kinds import Incident as Incident
from heaps.ledger.further_kinds import RefusedLoad as RefusedLoad
from heaps.ledger.further_kinds import Sign as Sign
from heaps.ledger.further_kinds import Soak as Soak
from heaps.ledger.further_kinds import Spread as Spread
from heaps.ledger.further_kinds import Stocktake as Stocktake
from heaps.ledger.further_kinds import Weighing as Weighing
from heaps.science.readiness import LOOKS, SMELLS


@dataclass(frozen=True)
class Share:
    """Part of a bay's contents: `per_cent` of what lies in `bay`."""

    bay: str
    per_cent: int


@dataclass(frozen=True)
class Opening:
    """What already lay in a bay on its first day here: guessed, never counted as input.

    `make_up` is a rough make-up in per cent by volume: ((feedstock, per cent), ...).
    """

    kind: ClassVar[str] = "opening"
    volume_ml: int = whole(1_000, 50_000_000, "how much lies in the bay")
    age_days: int = whole(0, 3_650, "how old it is in days")
    make_up: tuple[tuple[str, int], ...] = special("make_up", "the rough make-up")


@dataclass(frozen=True)
class Dropoff:
    """A load tipped into a bay: so many half containers of a feedstock, weighed if there was a scale.

    `container_ml` is what one container held as it was usually filled on that day, so that a later
    change to the container changes no past load.
    """

    kind: ClassVar[str] = "dropoff"
    feedstock: str = special("feedstock", "what was brought")
    half_containers: int = whole(1, 400, "how many containers")
    container_ml: int = whole(100, 5_000_000, "how much one container holds")
    container: str | None = maybe_special("uid", "which container")
    weighed_g: int | None = maybe_whole(1, 20_000_000, "the weight in grams")


@dataclass(frozen=True)
class Reading:
    """A look at the heap: temperature, squeeze test, fill mark, signs. At least one of them."""

    kind: ClassVar[str] = "reading"
    temp_tenths_c: int | None = maybe_whole(-300, 1_200, "the temperature")
    place: str | None = maybe_word(PLACES, "the place of the reading")
    depth_cm: int | None = maybe_whole(0, 300, "the depth of the reading")
    air_tenths_c: int | None = maybe_whole(-400, 600, "the temperature of the air")
    probe: str | None = maybe_special("label", "the name of the probe")
    squeeze: str | None = maybe_word(SQUEEZES, "the squeeze test")
    fill_per_cent: int | None = maybe_whole(0, 200, "the fill level")
    signs: tuple[str, ...] = maybe_several("signs", "the signs seen")


@dataclass(frozen=True)
class Water:
    """Water poured on."""

    kind: ClassVar[str] = "water"
    volume_ml: int = whole(100, 5_000_000, "how much water")


@dataclass(frozen=True)
class Turn:
    """A turn into the entry's bay: all or a share of one or several bays, or the bay within itself."""

    kind: ClassVar[str] = "turn"
    sources: tuple[Share, ...] = special("shares", "the bays that were turned")


@dataclass(frozen=True)
class Close:
    """Nothing more goes in here."""

    kind: ClassVar[str] = "close"


@dataclass(frozen=True)
class Reopen:
    """Feed this one again."""

    kind: ClassVar[str] = "reopen"


@dataclass(frozen=True)
class Verdict:
    """A group's answer to "is it ready?", by a test it names. Only this makes a batch ready.

    What the test showed stands beside the answer, if somebody wrote it down.
    """

    kind: ClassVar[str] = "verdict"
    test: str = word(("look", "smell", "no reheating", "cress", "flask"), "the test")
    ready: str = word(("ready", "not yet"), "the answer")
    look: str | None = maybe_word(tuple(LOOKS), "how it looks")
    smell: str | None = maybe_word(tuple(SMELLS), "how it smells")
    rise_tenths_k: int | None = maybe_whole(0, 700, "how far the flask rose above the air")
    sown: int | None = maybe_whole(1, 500, "how many seeds were sown")
    came_up: int | None = maybe_whole(0, 500, "how many came up")
    control_sown: int | None = maybe_whole(1, 500, "how many were sown in the other pot")
    control_up: int | None = maybe_whole(0, 500, "how many came up in the other pot")


@dataclass(frozen=True)
class Harvest:
    """Compost taken out of the bay: half bags and litres, coarse or sieved, all or a share of the heap."""

    kind: ClassVar[str] = "harvest"
    half_bags: int = whole(0, 4_000, "how many bags")
    bag_ml: int = whole(1_000, 2_000_000, "how much one bag holds")
    per_cent: int = whole(1, 100, "the share of the heap taken")
    sieved: str = word(("coarse", "sieved"), "coarse or sieved")


@dataclass(frozen=True)
class TipOut:
    """Emptied without a harvest."""

    kind: ClassVar[str] = "tip_out"


@dataclass(frozen=True)
class Collection:
    """Bags fetched by someone."""

    kind: ClassVar[str] = "collection"
    half_bags: int = whole(1, 400, "how many bags")
    bag_ml: int = whole(1_000, 2_000_000, "how much one bag holds")


@dataclass(frozen=True)
class Hours:
    """Time given, in minutes, by so many people together."""

    kind: ClassVar[str] = "hours"
    minutes: int = whole(1, 1_440, "how long")
    people: int = whole(1, 500, "how many people")


@dataclass(frozen=True)
class Note:
    """Only words, which stand outside the ledger's content and can be erased."""

    kind: ClassVar[str] = "note"


@dataclass(frozen=True)
class Correction:
    """An answer to an earlier entry: withdraw it, put another in its stead, or say that it stands.

    `corrects` is the uid of the entry, never of another correction. `bay`, `at` and `what` are what should
    have been recorded; they are given with "instead" only.
    """

    kind: ClassVar[str] = "correction"
    corrects: str = special("uid", "the entry to correct")
    says: str = word(("withdraw", "instead", "stands"), "what the correction does")
    bay: str | None = None
    at: datetime | None = None
    what: "Kind | None" = None


Kind = (
    Opening | Dropoff | Reading | Water | Turn | Close | Reopen | Verdict | Harvest | TipOut
    | Collection | Hours | Note | RefusedLoad | Cover | Stocktake | Spread | Soak | Weighing | Gathering | Incident
    | Sign | Correction
)  # fmt: skip


def brought(what: Kind | None) -> tuple[str, ...]:
    """The feedstocks that an entry says went in."""
    if isinstance(what, Correction):
        return brought(what.what)
    if isinstance(what, Opening):
        return tuple(feedstock for feedstock, _per_cent in what.make_up)
    return (what.feedstock,) if isinstance(what, Dropoff) else ()


#: At one and the same moment, things happen in this order.
KINDS: dict[str, type[Kind]] = {
    one.kind: one
    for one in (
        Opening, Reopen, Dropoff, Water, Reading, Turn, Verdict, Harvest, TipOut, Close,
        Collection, Hours, Note, RefusedLoad, Cover, Stocktake, Spread, Soak, Weighing, Gathering, Incident,
        Sign, Correction,
    )
}  # fmt: skip
ORDER: dict[str, int] = {kind: place for place, kind in enumerate(KINDS)}
NEEDS_BAY = frozenset(KINDS) - {
    "collection", "hours", "note", "refused_load", "stocktake", "spread", "soak", "weighing", "session", "incident",
    "correction",
}  # fmt: skip


class Entry(NamedTuple):
    """One fact of the ledger. `at` is its effective time; `bay` is a bay's uid, or None where no bay is meant."""

    uid: str
    bay: str | None
    at: datetime
    what: Kind
    stands: bool = False  # a coordinator has looked at it and said that it is right

    @property
    def key(self) -> tuple[datetime, int, str]:
        """The entry's place in the one order in which things happened; the uid only breaks ties."""
        return (self.at, ORDER[self.what.kind], self.uid)

    @property
    def bays(self) -> tuple[str, ...]:
        """Every bay the entry touches."""
        own = (self.bay,) if self.bay else ()
        if isinstance(self.what, Turn):
            return tuple(dict.fromkeys((*(share.bay for share in self.what.sources), *own)))
        return own
