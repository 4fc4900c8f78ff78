"""What lies in a bay: loads, the batch they make, and the bay's state. Plain values that go to JSON and back."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, NamedTuple

Key = tuple[datetime, int, str]
#: More would be too thin to be seen; the lowest two become one.
MOST_LAYERS = 24
Content = dict[str, "Load"]  # "feedstock/basis" -> load; basis is weighed, estimated or opening


class Load(NamedTuple):
    """So much of one feedstock: grams wet and millilitres as tipped."""

    wet_g: int
    volume_ml: int

    def __add__(self, other: "Load") -> "Load":  # type: ignore[override]  # loads add up
        return Load(self.wet_g + other.wet_g, self.volume_ml + other.volume_ml)

    def __sub__(self, other: "Load") -> "Load":
        return Load(self.wet_g - other.wet_g, self.volume_ml - other.volume_ml)

    def share(self, per_cent: int) -> "Load":
        """The share that moves, rounded down; the remainder stays where it was, so that sums are exact."""
        return Load(self.wet_g * per_cent // 100, self.volume_ml * per_cent // 100)


@dataclass(frozen=True)
class Ancestor:
    """A batch that went into another: where it lay, from when to when, and what it came from."""

    bay: str
    began: datetime
    ended: datetime
    parents: tuple[str, ...]


@dataclass(frozen=True)
class Mark:
    """The last reading of one thing."""

    at: datetime
    value: int | str
    air_tenths_c: int | None = None


class Layer(NamedTuple):
    """What was tipped on after what lies below: millilitres as tipped. Without a feedstock it is mixed matter."""

    feedstock: str | None
    volume_ml: int


@dataclass(frozen=True)
class Unturned:
    """How a bay lay, from the bottom up, just before its matter was last turned."""

    bay: str
    layers: tuple[Layer, ...]


@dataclass(frozen=True)
class Batch:
    """What lies in one bay now, found by replay. `uid` is that of the entry that began it.

    `content` and `water_ml` are what went in, less what was moved on or taken out; nothing is thought to have
    rotted. `turned_at` and `turns` count turns of this matter in any bay. `guessed` says that part of it is an
    opening guess. `layers` are the content again, from the bottom up, to within a millilitre a layer and split.
    `signs` are those to look at again, each with the moment at which it was last seen, or something done about it.
    """

    uid: str
    bay: str
    began: datetime
    parents: tuple[str, ...] = ()
    ancestors: dict[str, Ancestor] = field(default_factory=dict)
    content: Content = field(default_factory=dict)
    water_ml: int = 0
    guessed: bool = False
    fed_at: datetime | None = None
    turned_at: datetime | None = None
    turns: int = 0
    temp: Mark | None = None
    squeeze: Mark | None = None
    fill: Mark | None = None
    ready_at: datetime | None = None
    taken_half_bags: int = 0
    layers: tuple[Layer, ...] = ()
    unturned: tuple[Unturned, ...] = ()
    signs: dict[str, datetime] = field(default_factory=dict)

    @property
    def wet_g(self) -> int:
        """Grams in the batch, water poured on not counted."""
        return sum(load.wet_g for load in self.content.values())

    @property
    def volume_ml(self) -> int:
        """Millilitres as tipped: what the containers held, not what the heap has sunk to."""
        return sum(load.volume_ml for load in self.content.values())


def changed(batch: Batch, **new: Any) -> Batch:
    """As `replace` of dataclasses, which takes longer than all else that is done about a load."""
    other = object.__new__(Batch)
    vars(other).update(vars(batch), **new)
    return other


@dataclass(frozen=True)
class Remark:
    """Something odd that replay met; a coordinator settles it with a correction."""

    uid: str
    code: str
    at: datetime


class BayState(NamedTuple):
    """A bay at one moment: its batch if it is not empty, whether it is closed, and up to which entry this holds."""

    batch: Batch | None = None
    closed_at: datetime | None = None
    upto: Key | None = None
    remarks: tuple[Remark, ...] = ()


def added(content: Content, key: str, load: Load) -> Content:
    """A content with one load more."""
    return {**content, key: content[key] + load if key in content else load}


def together(contents: Iterable[Content]) -> Content:
    """Several contents, at least one, as one."""
    first, *rest = contents
    sums = first.copy()
    for content in rest:
        for key, load in content.items():
            sums[key] = sums[key] + load if key in sums else load
    return sums


def split(content: Content, per_cent: int) -> tuple[Content, Content]:
    """What moves and what stays. What would be nothing is left out."""
    moving = {key: load.share(per_cent) for key, load in content.items()}
    staying = {key: load - moving[key] for key, load in content.items()}
    nothing = Load(0, 0)
    return (
        {key: load for key, load in moving.items() if load != nothing},
        {key: load for key, load in staying.items() if load != nothing},
    )


def laid_on(layers: tuple[Layer, ...], feedstock: str | None, volume_ml: int) -> tuple[Layer, ...]:
    """The layers with one more on top. More of the same makes the top one thicker."""
    if layers and layers[-1].feedstock == feedstock:
        return (*layers[:-1], Layer(feedstock, layers[-1].volume_ml + volume_ml))
    if len(layers) < MOST_LAYERS:
        return (*layers, Layer(feedstock, volume_ml))
    return (mixed(layers[:2]), *layers[2:], Layer(feedstock, volume_ml))


def mixed(layers: Iterable[Layer]) -> Layer:
    """Several layers forked together."""
    return Layer(None, sum(layer.volume_ml for layer in layers))


def thinner(layers: tuple[Layer, ...], per_cent: int) -> tuple[Layer, ...]:
    """What stays of the layers when a share of the heap is taken. A heap is taken as one: each gives its part."""
    left = (Layer(feedstock, volume_ml - volume_ml * per_cent // 100) for feedstock, volume_ml in layers)
    return tuple(layer for layer in left if layer.volume_ml)


def to_plain(state: BayState) -> dict[str, Any]:
    """A bay's state as values that JSON knows."""

    plain: dict[str, Any] = _plain(state)
    return plain


def _plain(value: Any) -> Any:
    """As `asdict` would have it, without copying what need not be copied: each sending does this for its bays."""
    if value is None or isinstance(value, (str, int)):
        return value
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, (Load, Layer, BayState)):
        return {name: _plain(one) for name, one in zip(value._fields, value, strict=True)}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return {name: _plain(one) for name, one in vars(value).items()}


def from_plain(raw: dict[str, Any]) -> BayState:
    """The state again from what `to_plain` made of it."""
    upto = raw["upto"]
    return BayState(
        batch=_batch(raw["batch"]) if raw["batch"] else None,
        closed_at=_moment(raw["closed_at"]),
        upto=(datetime.fromisoformat(upto[0]), upto[1], upto[2]) if upto else None,
        remarks=tuple(Remark(**{**one, "at": datetime.fromisoformat(one["at"])}) for one in raw["remarks"]),
    )


def _batch(raw: dict[str, Any]) -> Batch:
    batch = Batch(**{**raw, "began": datetime.fromisoformat(raw["began"]), "parents": tuple(raw["parents"])})
    return replace(
        batch,
        ancestors={uid: _ancestor(one) for uid, one in raw["ancestors"].items()},
        content={key: Load(**load) for key, load in raw["content"].items()},
        fed_at=_moment(raw["fed_at"]),
        turned_at=_moment(raw["turned_at"]),
        ready_at=_moment(raw["ready_at"]),
        temp=_mark(raw["temp"]),
        squeeze=_mark(raw["squeeze"]),
        fill=_mark(raw["fill"]),
        layers=_layers(raw["layers"]),
        unturned=tuple(Unturned(one["bay"], _layers(one["layers"])) for one in raw["unturned"]),
        signs={sign: datetime.fromisoformat(at) for sign, at in raw["signs"].items()},
    )


def _layers(raw: list[dict[str, Any]]) -> tuple[Layer, ...]:
    return tuple(Layer(**one) for one in raw)


def _ancestor(raw: dict[str, Any]) -> Ancestor:
    began, ended = datetime.fromisoformat(raw["began"]), datetime.fromisoformat(raw["ended"])
    return Ancestor(bay=raw["bay"], began=began, ended=ended, parents=tuple(raw["parents"]))


def _mark(raw: dict[str, Any] | None) -> Mark | None:
    return Mark(**{**raw, "at": datetime.fromisoformat(raw["at"])}) if raw else None


def _moment(raw: str | None) -> datetime | None:
    return datetime.fromisoformat(raw) if raw else None
