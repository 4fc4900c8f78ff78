"""The kinds of entry for what happens less often. `kinds` knows them all; nobody else imports from here."""

from dataclasses import dataclass
from typing import ClassVar

from heaps.ledger.checks import maybe_special, maybe_whole, maybe_word, special, whole, word
from heaps.ledger.choices import GATHERINGS, INCIDENTS, TUB_WEEDS, WHY_REFUSED
from heaps.science.signs import SIGNS, Do


@dataclass(frozen=True)
class RefusedLoad:
    """A load that was turned away, and why."""

    kind: ClassVar[str] = "refused_load"
    feedstock: str = special("feedstock", "what was brought")
    why: str = word(WHY_REFUSED, "why it was turned away")
    half_containers: int | None = maybe_whole(1, 400, "how many containers")
    container_ml: int | None = maybe_whole(100, 5_000_000, "how much one container holds")


@dataclass(frozen=True)
class Cover:
    """A lid or sheet put on, or taken off."""

    kind: ClassVar[str] = "cover"
    way: str = word(("on", "off"), "whether it is covered")


@dataclass(frozen=True)
class Stocktake:
    """What stands in store: containers of a feedstock, or bags of compost where no feedstock is named."""

    kind: ClassVar[str] = "stocktake"
    half_containers: int = whole(0, 4_000, "how many stand there")
    container_ml: int = whole(100, 5_000_000, "how much one of them holds")
    feedstock: str | None = maybe_special("feedstock", "what stands there")


@dataclass(frozen=True)
class Spread:
    """Compost or leaf mould put on the ground."""

    kind: ClassVar[str] = "spread"
    tenths_m2: int = whole(1, 1_000_000, "how large the ground is")
    depth_mm: int | None = maybe_whole(1, 500, "how deep it lies")
    half_bags: int | None = maybe_whole(1, 4_000, "how many bags")
    bag_ml: int | None = maybe_whole(1_000, 2_000_000, "how much one bag holds")


@dataclass(frozen=True)
class Soak:
    """Roots that grow again, into the soaking tub or out of it."""

    kind: ClassVar[str] = "soak"
    weed: str = word(TUB_WEEDS, "which weed")
    way: str = word(("in", "out"), "into the tub or out of it")
    half_containers: int = whole(1, 400, "how many containers")
    container_ml: int = whole(100, 5_000_000, "how much one container holds")


@dataclass(frozen=True)
class Weighing:
    """A container of a feedstock on the scale, and the same container empty."""

    kind: ClassVar[str] = "weighing"
    feedstock: str = special("feedstock", "what was weighed")
    container_ml: int = whole(100, 5_000_000, "how much the container holds")
    full_g: int = whole(1, 20_000_000, "its weight when full, in grams")
    empty_g: int = whole(0, 2_000_000, "its weight when empty, in grams")
    container: str | None = maybe_special("uid", "which container")


@dataclass(frozen=True)
class Gathering:
    """A talk or a workshop: how many came, and how long it was."""

    kind: ClassVar[str] = "session"
    sort: str = word(GATHERINGS, "what it was")
    people: int = whole(1, 5_000, "how many people came")
    minutes: int | None = maybe_whole(1, 1_440, "how long it was")


@dataclass(frozen=True)
class Incident:
    """Something went wrong, or nearly did."""

    kind: ClassVar[str] = "incident"
    what: str = word(INCIDENTS, "what happened")


@dataclass(frozen=True)
class Sign:
    """A sign of the published table followed up: seen, something done about it, or gone."""

    kind: ClassVar[str] = "sign"
    sign: str = word(tuple(SIGNS), "which sign")
    says: str = word(("seen", "done", "gone"), "whether it was seen, something was done, or it is gone")
    did: str | None = maybe_word(tuple(Do), "what was done")
