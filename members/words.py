"""The words that let somebody in: our own list, public, and how what was typed is read."""

import difflib
import re
import unicodedata
from pathlib import Path

#: 256 short, plain words; no two begin with the same three letters, so that none is taken for another.
#: Four of them: the first names the ticket, the other three are 24 random bits, guarded by five tries.
WORDS = tuple(Path(__file__).with_name("words.txt").read_text().split())
HOW_MANY = 4
BETWEEN = re.compile(r"[\s,.;:/_+\-\u2010-\u2015]+")  # hyphens and dashes of every length, too


def read(typed: str) -> list[str]:
    """The words in what somebody typed, whatever stands between them."""
    plain = unicodedata.normalize("NFKC", typed).lower()
    return [word for word in BETWEEN.split(plain) if word]


def strangers(words: list[str]) -> list[str]:
    """Those that are not on the list."""
    return [word for word in words if word not in WORDS]


def meant(word: str) -> str:
    """The word on the list that somebody most likely meant, or nothing."""
    close = difflib.get_close_matches(word, WORDS, n=1, cutoff=0.6)
    alike = [known for known in WORDS if len(word) >= 3 and known[:3] == word[:3]]
    return next(iter([*close, *alike]), "")
