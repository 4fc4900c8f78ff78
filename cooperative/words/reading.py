"""How easily the texts read: their length, the grade of Flesch and Kincaid, and words that nobody at a heap uses.

The grade is 0.39 words a sentence + 11.8 syllables a word - 15.59 (Kincaid, Fishburne, Rogers and Chissom 1975,
Derivation of new readability formulas, from memory). It is taken over all texts together, as over one long text; a
name or a label ends a sentence like a full stop. Texts of whole sentences are judged alone, too, because labels make
the average sentence shorter than those that people read. Held against a dictionary of pronunciation (CMU) on 14,000
words of ours, the count of syllables was 1 % too high, which makes the grade 0.1 too strict.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from babel.messages.catalog import Catalog

from cooperative.bench import Figure
from heaps.guide import CHAPTERS

MOST_GRADE, MOST_WORDS = 5.0, 8.0
#: A text of several sentences is read one at a time: so many per cent of them may be longer than so many words.
LONG_SENTENCE, MOST_LONG_PER_CENT = 15, 5.0
#: Words of programs that no page may show.
BANNED = re.compile(
    r"\b(sync\w*|cache\w*|queue\w*|submit\w*|invalid\w*|error \d+|4\d\d error|conflict\w*|indexeddb|token|credential\w*"
    r"|payload|timeout)\b",
    re.I,
)
PLACE = re.compile(r"%\((\w+)\)[sd]|%[sd]|\{(\w*)\}")
TAG = re.compile(r"<[^>]*>|&\w+;")
WORD = re.compile(r"[A-Za-zÀ-ÿ]+(?:[’'-][A-Za-zÀ-ÿ]+)*|\d[\d.,:]*")
SENTENCE_END = re.compile(r"[.!?…](?:[\s”\"’)]|$)")


@dataclass(frozen=True)
class Read:
    """A text, counted."""

    text: str
    words: int
    syllables: int
    sentences: int
    is_sentence: bool

    @property
    def grade(self) -> float:
        """The school year in which it is understood."""
        return grade([self])


def read_of(text: str) -> Read:
    """Count a text. What stands for a value is read as a word."""
    plain = PLACE.sub(lambda place: (place[1] or place[2] or "one").replace("_", "-"), TAG.sub(" ", text))
    words = WORD.findall(plain)
    is_sentence = bool(SENTENCE_END.search(plain.strip()[-1:]))
    return Read(text, len(words), sum(map(syllables, words)), max(1, len(parts_of(plain))), is_sentence)


def grade(reads: Iterable[Read]) -> float:
    """The grade of Flesch and Kincaid of all these together."""
    counts: list[tuple[int, ...]] = [(one.words, one.syllables, one.sentences) for one in reads]
    words, sounds, sentences = [sum(column) for column in zip(*counts, strict=True)]
    return float(0.39 * words / sentences + 11.8 * sounds / words - 15.59)


def syllables(word: str) -> int:
    """Groups of vowels in each part of a word, less an e that is not heard at its end; at least one a part."""
    return sum(_heard(part) for part in re.split(r"[’'-]", word.lower()) if part not in ("", "s", "t"))


def _heard(part: str) -> int:
    groups = len(re.findall(r"[aeiouyà-ÿ]+", part))
    silent = part.endswith("e") and not part.endswith(("le", "ee", "ye")) and groups > 1
    silent_ed = part.endswith("ed") and part[-3:-2] not in ("t", "d") and groups > 1
    return max(1, groups - silent - silent_ed)


def texts_read(texts: Catalog) -> list[Read]:
    """Every text that somebody reads; of a pair, the one for several. Words only to be found by are not read."""
    unread = {str(part.found_by) for chapter in CHAPTERS.values() for part in chapter.parts}
    whole = [one.id[-1] if isinstance(one.id, tuple) else str(one.id) for one in texts if one.id]
    return [read for text in whole if text not in unread and (read := read_of(text)).words]


def figures(reads: list[Read]) -> list[Figure]:
    """What is counted, against the bars."""
    sentences = [one for one in reads if one.is_sentence]
    alone = [read_of(part) for one in reads for part in parts_of(one.text)]
    return [
        Figure("texts", len(reads), ""),
        Figure("words a text, on average", sum(one.words for one in reads) / len(reads), "", MOST_WORDS),
        Figure(f"texts of more than {LONG_SENTENCE} words", _long_per_cent(reads), "%"),
        Figure(f"sentences of more than {LONG_SENTENCE} words", _long_per_cent(alone), "%", MOST_LONG_PER_CENT),
        Figure("grade of all texts", grade(reads), "", MOST_GRADE),
        Figure("grade of whole sentences", grade(sentences), "", MOST_GRADE),
        Figure("texts with a banned word", len(list(banned(reads))), "", 0),
    ]


def _long_per_cent(reads: list[Read]) -> float:
    return 100 * sum(one.words > LONG_SENTENCE for one in reads) / len(reads)


def parts_of(text: str) -> list[str]:
    """The sentences of a text."""
    return [part for part in SENTENCE_END.split(text) if WORD.search(part)]


def banned(reads: Iterable[Read]) -> Iterator[tuple[str, str]]:
    """Each banned word, and the text that has it."""
    return ((found[0], one.text) for one in reads for found in BANNED.finditer(one.text))


def hardest(reads: Iterable[Read], number: int) -> list[Read]:
    """The sentences that need the most schooling; labels are too short to be judged."""
    return sorted((one for one in reads if one.is_sentence), key=lambda one: -one.grade)[:number]
