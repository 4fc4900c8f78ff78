"""Can I put ... in? Finds things and parts of the guide by plain words; `guide-search.js` does the same on the phone.

Words that only make a question are left out, and plurals count as singulars. Each word stands for the words of the
guide that it equals; failing these, for those it begins; failing these, for those it misses by one slip. What holds
most of the words comes first, then what holds them most exactly, then what has least else in its name, then the
stricter answer: who is unsure should see the "never" first.
"""

import re
import tomllib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from heaps.guide.book import CHAPTERS
from heaps.guide.shape import Chapter, Part
from heaps.guide.things import ANSWERS, Thing, things
from heaps.science.materials import PUBLISHED, Materials

WORDS = tomllib.loads(files(__package__).joinpath("also_said.toml").read_text("utf-8"))
#: They make a question, not a thing.
FILLERS = frozenset(WORDS["left_out"]["always"])
#: They name something only when nothing else does.
WEAK = frozenset(WORDS["left_out"]["beside_others"])
#: Endings of plurals and what stands for them, first match first. The last part says how long a word must be.
ENDINGS = (
    ("leaves", "leaf", 6), ("ies", "y", 5), ("oes", "o", 5), ("xes", "x", 5), ("ches", "ch", 6), ("shes", "sh", 5),
    ("sses", "ss", 6), ("ss", "ss", 3), ("s", "", 4),
)  # fmt: skip
LEAST_BEGIN, LEAST_SLIP = 3, 4
EXACT, BEGINS, SLIP = 3, 2, 1
MOST_FOUND = 12

Rank = tuple[int, int, float, int]


@dataclass(frozen=True)
class Entry:
    """Something that can be found: by which phrases, and how strict its answer is (parts have none)."""

    key: str
    strictness: int
    phrases: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Place:
    """A part of a chapter."""

    chapter: Chapter
    part: Part

    @property
    def key(self) -> str:
        """Its name in the index."""
        return f"{self.chapter.key}/{self.part.key}"


@dataclass(frozen=True)
class Found:
    """What was found, best first; `whole` when something held every word."""

    things: tuple[Thing, ...]
    places: tuple[Place, ...]
    whole: bool


def search(typed: str, materials: Materials = PUBLISHED) -> Found:
    """The things and the parts of the guide that these words ask for."""
    keys, whole = found_keys(typed, materials)
    known = things(materials)
    found = tuple(known[key] for key in keys if key in known)
    return Found(found, tuple(places()[key] for key in keys if key not in known), whole)


def found_keys(typed: str, materials: Materials = PUBLISHED) -> tuple[list[str], bool]:
    """The keys of what was found, best first, and whether the best holds every word."""
    asked = asked_words(typed, materials)
    meanings = [_meanings(word, vocabulary(materials)) for word in asked]
    ranked = [(rank, entry.key) for entry in index(materials) if (rank := _rank(entry, meanings))[0]]
    if not ranked:
        return [], False
    most = max(rank[0] for rank, _ in ranked)
    best = sorted((pair for pair in ranked if pair[0][0] == most), key=lambda pair: pair[0], reverse=True)
    return [key for _, key in best[:MOST_FOUND]], most == len(asked)


def for_phone(materials: Materials = PUBLISHED) -> dict[str, object]:
    """What a phone needs to find the same: entries as key, strictness and phrases, and the words left out."""
    entries = [[one.key, one.strictness, [" ".join(phrase) for phrase in one.phrases]] for one in index(materials)]
    return {
        "fillers": sorted(FILLERS),
        "weak": sorted(WEAK),
        "endings": ENDINGS,
        "entries": entries,
    }


def asked_words(typed: str, materials: Materials = PUBLISHED) -> list[str]:
    """The words of a question that name something, as singulars; two that the guide writes as one become one."""
    joined: list[str] = []
    known = vocabulary(materials)
    for word in naming_words(typed):
        both = joined[-1] + word if joined else ""
        if both in known and not (joined[-1] in known and word in known):
            joined[-1] = both
        else:
            joined.append(word)
    return list(dict.fromkeys(joined))


def naming_words(text: str) -> list[str]:
    """The words of a text that name something, as singulars."""
    spoken = [word for word in plain_words(text) if word not in FILLERS]
    return [stem(word) for word in spoken if word not in WEAK] or [stem(word) for word in spoken]


def plain_words(text: str) -> list[str]:
    """The words of a text in small letters without accents."""
    bare = "".join(one for one in unicodedata.normalize("NFD", text) if unicodedata.category(one)[0] != "M")
    return re.findall(r"[a-z0-9]+", bare.replace("’", "").replace("'", "").lower())


def stem(word: str) -> str:
    """A word without the ending of its plural."""
    for ending, instead, least in ENDINGS:
        if word.endswith(ending) and len(word) >= least:
            return word.removesuffix(ending) + instead
    return word


def index(materials: Materials = PUBLISHED) -> tuple[Entry, ...]:
    """Everything that can be found, in the language of whoever asks."""
    return _index(get_language(), materials)


@lru_cache(maxsize=16)
def _index(language: str, materials: Materials) -> tuple[Entry, ...]:
    said: dict[str, list[str]] = WORDS["said"]
    strictness = {word: number for number, word in enumerate(ANSWERS, 1)}
    named = [
        Entry(thing.key, strictness[thing.acceptance], _phrases([*_names(thing), *said.get(thing.key, [])]))
        for thing in things(materials).values()
    ]
    parts = [
        Entry(place.key, 0, _phrases([str(place.part.title), *str(place.part.found_by).split(",")]))
        for place in places().values()
    ]
    return (*named, *parts)


@cache
def places() -> dict[str, Place]:
    """Every part of every chapter by its name in the index."""
    found = [Place(chapter, part) for chapter in CHAPTERS.values() for part in chapter.parts]
    return {place.key: place for place in found}


def vocabulary(materials: Materials = PUBLISHED) -> frozenset[str]:
    """Every word of the index."""
    return _vocabulary(get_language(), materials)


@lru_cache(maxsize=16)
def _vocabulary(language: str, materials: Materials) -> frozenset[str]:
    return frozenset(word for entry in _index(language, materials) for phrase in entry.phrases for word in phrase)


def one_slip(one: str, other: str) -> bool:
    """Whether one letter is missing, too many, wrong, or two neighbours are swapped."""
    if abs(len(one) - len(other)) > 1:
        return False
    start = 0
    while start < min(len(one), len(other)) and one[start] == other[start]:
        start += 1
    rest, others = one[start:], other[start:]
    swapped = len(rest) > 1 and rest[1::-1] == others[:2] and rest[2:] == others[2:]
    return rest[1:] == others[1:] or rest == others[1:] or rest[1:] == others or swapped


def _meanings(word: str, known: frozenset[str]) -> dict[str, int]:
    """The words of the guide that a typed one stands for, and how exactly: equal, else begun, else a slip away."""
    if word in known:
        return {word: EXACT}
    begun = [one for one in known if len(word) >= LEAST_BEGIN and one.startswith(word)]
    if begun:
        return dict.fromkeys(begun, BEGINS)
    slipped = [one for one in known if len(word) >= LEAST_SLIP and one_slip(word, one)]
    return dict.fromkeys(slipped, SLIP)


def _rank(entry: Entry, meanings: list[dict[str, int]]) -> Rank:
    """How well an entry answers: words held, how exactly, how much of its best phrase that is, how strict it is."""
    words = {word for phrase in entry.phrases for word in phrase}
    best = [max((how for word, how in meaning.items() if word in words), default=0) for meaning in meanings]
    share = max(_share(phrase, meanings) for phrase in entry.phrases)
    return sum(1 for one in best if one), sum(best), share, entry.strictness


def _share(phrase: tuple[str, ...], meanings: list[dict[str, int]]) -> float:
    held = sum(1 for meaning in meanings if any(word in meaning for word in phrase))
    return held / len(phrase)


def _names(thing: Thing) -> list[str]:
    """The full name, the short one, and what stands first in it: hay of "Hay, dry"."""
    short = _(getattr(thing, "short", ""))
    return [_(thing.name), short, short.split(",")[0]]


def _phrases(texts: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    phrases = (tuple(naming_words(text)) for text in texts)
    return tuple(dict.fromkeys(phrase for phrase in phrases if phrase))
