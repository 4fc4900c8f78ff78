"""What goes in, what does not, and what to do instead; and the cautions that belong to heaps."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from heaps.science.feedstocks import FEEDSTOCKS, SOURCES, Feedstock, Source


@dataclass(frozen=True)
class Answer:
    """One of the four answers at the gate, and the materials it holds for."""

    word: str
    says: str | Promise
    materials: tuple[Feedstock, ...]


@dataclass(frozen=True)
class Caution:
    """One danger, what people usually do about it, and where that comes from (ids of published sources)."""

    about: str | Promise
    says: str | Promise
    source: str
    evidence: str

    @property
    def citation(self) -> str:
        """The source in full."""
        return SOURCES[self.source].citation if self.source in SOURCES else self.source


ANSWERS: tuple[tuple[str, str | Promise], ...] = (
    ("yes", _("Yes")),
    ("with care", _("Yes, with care")),
    ("treat first", _("Treat it first")),
    ("never", _("Never")),
)

#: Facts of published advice in our own words; every group has to check its local rules.
CAUTIONS = (
    Caution(
        _("Dust and spores"),
        _("Damp a heap before you turn it, stand upwind, wear a mask. With asthma or weak defences, let others turn."),
        "RHS-HS",
        "read",
    ),
    Caution(
        _("Legionella"),
        _("Do not lean over a heap or an open bag, wear gloves, wash your hands before you eat or smoke."),
        "PHS24",
        "read",
    ),
    Caution(
        _("Rats"),
        _("No cooked food, bread, meat or dairy; fine strong mesh below; gloves on, cuts covered, hands washed."),
        "TESTVAL",
        "read",
    ),
    Caution(
        _("Lifting"),
        _("A barrow of wet leaves weighs about 25 kg, one of manure about 75 kg: fill it in part, or lift in pairs."),
        "the bulk densities in this guide",
        "reckoned",
    ),
    Caution(
        _("Sharps and chemicals"),
        _("Tip a strange load out and look before you reach in; gloves and tongs; weedkiller cans are not compost."),
        "common practice",
        "from memory (medium)",
    ),
    Caution(
        _("Heat"),
        _("Steam over 60 °C scalds. Turn and wet a heap before it passes 70 °C; above 80 °C call the fire service."),
        "SURREY",
        "read",
    ),
    Caution(
        _("Plants that harm"),
        _("Gloves for hogweed, yew and laurel; shred laurel only outdoors; knotweed stays where it is; ask first."),
        "KNOT",
        "read",
    ),
    Caution(
        _("Closed bins"),
        _("Never climb into a closed bin: the air in it can be foul enough to faint in."),
        "common practice",
        "from memory (medium)",
    ),
)


def answers(words: str = "") -> list[Answer]:
    """The materials by answer, in the order of the table; with `words`, those that hold all of them."""
    wanted = words.casefold().split()
    groups: dict[str, list[Feedstock]] = {word: [] for word, _says in ANSWERS}
    for stuff in FEEDSTOCKS.values():
        if all(word in _text(stuff) for word in wanted):
            groups[stuff.acceptance].append(stuff)
    return [Answer(word, says, tuple(groups[word])) for word, says in ANSWERS if groups[word]]


def sources() -> list[Source]:
    """Every source, in full."""
    return list(SOURCES.values())


def _text(stuff: Feedstock) -> str:
    return f"{stuff.name} {stuff.short} {stuff.reason} {stuff.instead}".casefold()
