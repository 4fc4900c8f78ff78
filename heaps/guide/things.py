"""Whatever people ask about: the materials of the table, and things that no heap counts."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy
from django.utils.translation import gettext_noop as _

from heaps.guide.shape import Text
from heaps.science.feedstocks import SOURCES, Feedstock, Source
from heaps.science.materials import PUBLISHED, Materials


@dataclass(frozen=True)
class Asked:
    """A thing that is no material of the table, with the same answer at the gate; like there, translated when shown."""

    key: str
    name: str
    acceptance: str
    reason: str
    instead: str
    acceptance_source: str


Thing = Feedstock | Asked


@dataclass(frozen=True)
class Answer:
    """One of the four answers at the gate, and the things it holds for."""

    word: str
    icon: str
    says: Text
    materials: tuple[Thing, ...]


#: The word of the table, its sign, and how it is said. The signs are those of the recording page.
ANSWERS: dict[str, tuple[str, Text]] = {
    "yes": ("✓", gettext_lazy("Yes")),
    "with care": ("!", gettext_lazy("Yes, with care")),
    "treat first": ("↻", gettext_lazy("Treat it first")),
    "never": ("✕", gettext_lazy("Never")),
}

ASKED = (
    Asked(
        "shells-stones",
        _("Nut shells, fruit stones, avocado stones, corn cobs, cones"),
        "with care",
        _("Hard: they take years, but they keep the heap open for air."),
        _("Smash them, or sieve them out and put them into the next heap."),
        "mem-H",
    ),
    Asked(
        "cork",
        _("Cork"),
        "with care",
        _("Real cork only, and very slow. Some corks are plastic."),
        _("Chop it small. If it springs back and shines, it is plastic."),
        "mem-M",
    ),
    Asked(
        "cloth",
        _("Cotton, linen and wool cloth"),
        "with care",
        _("Only pure plant or wool cloth rots. Seams, labels and mixed cloth hold plastic."),
        _("Cut it small and take off seams and buttons. If you are not sure, use the clothes bank."),
        "mem-M",
    ),
    Asked(
        "charcoal",
        _("Charcoal, plain lumps of wood"),
        "with care",
        _("It does no harm and does not rot. Briquettes hold other things: never."),
        _("Cold and crushed, and only a little."),
        "mem-M",
    ),
    Asked(
        "wooden-bits",
        _("Wooden sticks, matches, wooden cutlery, bamboo"),
        "with care",
        _("Slow. Only bare wood, with no paint, glue or shine."),
        _("Break them up."),
        "mem-M",
    ),
    Asked(
        "spotted-leaves",
        _("Leaves with mildew, rust or black spot"),
        "with care",
        _("A cool heap may not kill the disease."),
        _("Bury them in the middle of a heap that is hot; else the council’s green bin."),
        "RHS-MC; mem-H",
    ),
    Asked(
        "ragwort",
        _("Ragwort"),
        "treat first",
        _("Poison to horses and cattle, dry too. Pulled plants still set seed."),
        _("Gloves on. Put it into the soaking tub before it seeds, or bag it for the council."),
        "mem-M",
    ),
    Asked(
        "mushroom-compost",
        _("Spent mushroom compost"),
        "with care",
        _("It holds lime, which drives off nitrogen, and it hardly heats."),
        _("Better straight on the beds; in a heap only thin layers."),
        "mem-M",
    ),
    Asked(
        "dust",
        _("Dust of vacuum cleaner, tumble dryer or floor"),
        "never",
        _("Most of it is bits of plastic from carpets and clothes."),
        _("The household rubbish."),
        "mem-M",
    ),
    Asked(
        "hard-rubbish",
        _("Plastic, glass, metal, rubber, foil, foam"),
        "never",
        _("It never rots, and small bits stay in the beds."),
        _("Recycling where it is taken, else the household rubbish."),
        "mem-H",
    ),
    Asked(
        "poisons",
        _("Paint, oil, weedkiller, medicine, batteries, cleaning stuff"),
        "never",
        _("Poison for the heap, the beds and you."),
        _("The council’s recycling centre. Medicine goes back to the chemist."),
        "mem-H",
    ),
    Asked(
        "human-waste",
        _("Human faeces"),
        "never",
        _("It carries germs that no shared heap is sure to kill."),
        _("The toilet."),
        "mem-H",
    ),
    Asked(
        "fermented-food",
        _("Food from a fermenting bucket"),
        "never",
        _("Meat and cooked food are still meat and cooked food when they have turned sour."),
        _("Only a bucket of raw plants may come: ask a coordinator first."),
        "APHA-HEAP; mem-M",
    ),
    Asked(
        "leather",
        _("Leather"),
        "never",
        _("Tanned with metal salts, and it hardly rots."),
        _("The clothes bank or the household rubbish."),
        "mem-M",
    ),
    Asked(
        "stones",
        _("Stones, bricks, rubble"),
        "never",
        _("They do not rot, and they break forks and sieves."),
        _("Keep them for paths, or take them to the council’s recycling centre."),
        "mem-H",
    ),
)


def things(materials: Materials = PUBLISHED) -> dict[str, Thing]:
    """Everything by its key."""
    found: list[Thing] = [*materials.offered(), *ASKED]
    return {one.key: one for one in found}


def answers(materials: Materials = PUBLISHED) -> list[Answer]:
    """Everything by answer, in the order of the table."""
    groups: dict[str, list[Thing]] = {word: [] for word in ANSWERS}
    for thing in things(materials).values():
        groups[thing.acceptance].append(thing)
    return [Answer(word, icon, says, tuple(groups[word])) for word, (icon, says) in ANSWERS.items()]


def sources() -> list[Source]:
    """Every source, in full."""
    return list(SOURCES.values())
