"""The hostile strings of `corpus.txt`, and what is known of them."""

import re
from pathlib import Path

ESCAPE = re.compile(r"\\(?:x([0-9a-f]{2})|u([0-9a-f]{4})|U([0-9a-f]{8})|\*(\d+)\(((?:\\.|[^()\\])*)\)|(.))")
SHORT = {"n": "\n", "r": "\r", "t": "\t", "\\": "\\"}
#: What stands in every string that could run, and in every address that leads away.
RUNS, ELSEWHERE = "__hit", "elsewhere.invalid"


def plain(line: str) -> str:
    """A line of the file as the string it means."""
    return ESCAPE.sub(_meant, line)


def _meant(found: re.Match[str]) -> str:
    two, four, eight, times, again, short = found.groups()
    if times:
        return plain(again) * int(times)
    number = two or four or eight
    return chr(int(number, 16)) if number else SHORT[short]


def lines(name: str) -> list[str]:
    """The strings of a file of this folder, each once, in its order."""
    text = (Path(__file__).parent / name).read_text(encoding="utf-8")
    return list(dict.fromkeys(plain(line) for line in text.split("\n") if line and not line.startswith("# ")))


HOSTILE = lines("corpus.txt")


def bundles(number: int) -> list[str]:
    """The strings in so many parts, each part joined to one text: for pages that show one thing at a time."""
    usual = [text for text in HOSTILE if len(text) < 1_000]
    return [" ".join(usual[start::number]) for start in range(number)]


def joined(longest: int) -> list[str]:
    """The strings in as few texts as can be that are not longer than this; what alone is longer is left out."""
    texts = [""]
    for text in HOSTILE:
        if len(text) <= longest:
            if len(texts[-1]) + len(text) >= longest:
                texts.append("")
            texts[-1] = f"{texts[-1]} {text}" if texts[-1] else text
    return texts
