"""The materials of one cooperative: the published table, its own values over it, and its own materials beside it.

Own values are decisions, told the oldest first. Of those about one figure the latest that covers a moment holds
there; one without a number gives the published figure back. So what was decided is never lost, and taking it back
leaves everything as it was.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from heaps.science.feedstocks import FEEDSTOCKS, STRICTNESS, Feedstock, Value, grams, strictness

#: Every own material's key begins so, and none of the table's does.
OWN = "own-"
DENSITY, MOISTURE, NITROGEN, C_TO_N = "density", "moisture", "nitrogen", "c_to_n"
RELATIVE, NAME, GATE, OFFERED = "relative", "name", "gate", "offered"


@dataclass(frozen=True)
class Figure:
    """A figure that a cooperative may have of its own: where it stands, and what is possible at all.

    The bounds are a little wider than the widest of the table: whatever is outside was typed wrongly.
    """

    field: str
    least: float
    most: float
    scale: float = 1.0  # what is typed stands for so many of what is kept

    def published(self, stuff: Feedstock) -> Value | None:
        """The figure as the table has it."""
        value: Value | None = getattr(stuff, self.field)
        return value


FIGURES: dict[str, Figure] = {
    DENSITY: Figure("bulk_density_kg_m3", 5, 3_000),
    MOISTURE: Figure("moisture_fraction", 0, 99, scale=100),
    NITROGEN: Figure("nitrogen_fraction_dry", 0, 25, scale=100),
    C_TO_N: Figure("c_to_n", 0.5, 2_000),
}


@dataclass(frozen=True)
class Decision:
    """What a cooperative decided about a material: a figure, its name, its word at the gate.

    `number` is as typed, in kg/m3 or per cent; None gives the published one back. `since` is when it begins to hold;
    None is from the first load on. `words` is a name, an acceptance, the relative's key, or yes and no.
    """

    feedstock: str
    figure: str
    number: float | None = None
    words: str = ""
    since: datetime | None = None
    reason: str = ""


@dataclass(frozen=True, eq=False)
class Materials(Mapping[str, Feedstock]):
    """Every material by its key, with the figures that hold today.

    `listed` has them without own values, an own material as its relative is published. `withdrawn` ones are own
    materials that are no longer offered. `densities` are the decisions about density, the latest first.
    """

    known: Mapping[str, Feedstock]
    listed: Mapping[str, Feedstock]
    densities: Mapping[str, tuple[tuple[datetime | None, int | None], ...]]
    relatives: Mapping[str, str]
    withdrawn: frozenset[str]
    strict_since: Mapping[str, datetime]

    def __eq__(self, other: object) -> bool:
        return self is other  # one set of decisions is one object: whoever keeps something by it finds it at once

    def __hash__(self) -> int:
        return id(self)

    def __getitem__(self, key: str) -> Feedstock:
        return self.known[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.known)

    def __len__(self) -> int:
        return len(self.known)

    def offered(self) -> list[Feedstock]:
        """What a phone may choose from: the table in its order, then the own materials."""
        return [*(self[key] for key in FEEDSTOCKS), *(self[key] for key in self.relatives if key not in self.withdrawn)]

    def density_kg_m3(self, key: str, at: datetime) -> int | None:
        """The bulk density that holds for a load of that moment."""
        for since, number in self.densities.get(key, ()):
            if since is None or since <= at:
                return self.listed[key].density_kg_m3 if number is None else number
        return self.listed[key].density_kg_m3

    def wet_g(self, key: str, volume_ml: int, at: datetime) -> int:
        """Grams in so many millilitres as tipped at that moment; whole numbers, half up."""
        density = self.density_kg_m3(key, at)
        if density is None:
            raise ValueError(f"{key} is never taken, so it has no bulk density")
        return grams(volume_ml, density)


def with_own(decisions: Iterable[Decision]) -> Materials:
    """The materials as a cooperative has them by its decisions, the oldest first.

    What is not possible is passed over, however it came into the list: a figure out of bounds, a material that is not
    known, a gate that would be looser than the table.
    """
    told = list(decisions)
    relatives = _relatives(told)
    own = {key: replace(FEEDSTOCKS[relative], key=key) for key, relative in relatives.items()}
    listed = FEEDSTOCKS | own
    latest = {(one.feedstock, one.figure): one for one in told if one.feedstock in listed and _is_possible(one, listed)}
    changed = dict(own)
    for (key, _figure), one in latest.items():
        changed[key] = _changed(changed.get(key, listed[key]), one, listed[key])
    return Materials(
        known=FEEDSTOCKS | changed,
        listed=listed,
        densities=_densities(told, listed),
        relatives=relatives,
        withdrawn=frozenset(key for (key, figure), one in latest.items() if figure == OFFERED and one.words == "no"),
        strict_since={key: one.since for (key, figure), one in latest.items() if figure == GATE and one.since},
    )


def strange_figure(figure: str, number: float, published: Value) -> bool:
    """Whether a number lies outside what the sources give for the material. It may still be right here."""
    scale = FIGURES[figure].scale
    return not published.low * scale <= number <= published.high * scale


def _relatives(told: list[Decision]) -> dict[str, str]:
    """Own materials with the published one each was made from. The first word about that holds for good."""
    found: dict[str, str] = {}
    for one in told:
        if one.figure == RELATIVE and one.feedstock.startswith(OWN) and one.words in FEEDSTOCKS:
            found.setdefault(one.feedstock, one.words)
    return found


def _is_possible(one: Decision, listed: Mapping[str, Feedstock]) -> bool:
    if one.figure in FIGURES:
        figure = FIGURES[one.figure]
        has_one = figure.published(listed[one.feedstock]) is not None
        return has_one and (one.number is None or figure.least <= one.number <= figure.most)
    if one.figure == GATE:
        looser = one.words in STRICTNESS and strictness(one.words) <= strictness(listed[one.feedstock].acceptance)
        return not one.words or (one.words in STRICTNESS and not looser)
    return one.figure in (NAME, OFFERED)


def _changed(stuff: Feedstock, one: Decision, listed: Feedstock) -> Feedstock:
    """A material once a decision about it, the latest about its figure, is taken in."""
    if one.figure in FIGURES and one.number is not None:
        figure = FIGURES[one.figure]
        published = figure.published(listed)
        own: dict[str, Any] = {figure.field: published and _own(published, one.number / figure.scale, one.reason)}
        return replace(stuff, **own)
    if one.figure == NAME and one.words:
        return replace(stuff, short=one.words, name=one.words if stuff.key.startswith(OWN) else stuff.name)
    if one.figure == GATE and one.words:
        return replace(stuff, acceptance=one.words, reason=one.reason)
    return stuff


def _own(published: Value, number: float, reason: str) -> Value:
    low, high = min(published.low, number), max(published.high, number)
    return Value(low, number, high, reason, "own", published)


def _densities(
    told: list[Decision], listed: Mapping[str, Feedstock]
) -> dict[str, tuple[tuple[datetime | None, int | None], ...]]:
    found: dict[str, tuple[tuple[datetime | None, int | None], ...]] = {}
    for one in told:
        if one.figure == DENSITY and one.feedstock in listed and _is_possible(one, listed):
            number = None if one.number is None else int(one.number)
            found[one.feedstock] = ((one.since, number), *found.get(one.feedstock, ()))
    return found


PUBLISHED = with_own(())
