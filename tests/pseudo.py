"""An invented language: every text is bracketed, accented and about 40 % longer. What is not, was forgotten."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from gettext import NullTranslations

from django.utils import translation
from django.utils.translation import trans_real

CODE = "qps"  # of the codes that ISO 639 leaves for private use, qaa to qtz
OPENS, CLOSES = "⟦", "⟧"
LONGER = 0.4
ACCENTS = str.maketrans("aceinosuyzACEINOSUYZ", "àçéîñöšüýžÀÇÉÎÑÖŠÜÝŽ")
#: Stays as it is: what a value takes the place of, and marks of HTML.
KEPT = re.compile(r"(%\(\w+\)[sd]|%[sd%]|\{\w*\}|<[^>]*>|&\w+;)")


def pseudo(text: str) -> str:
    """A text in the invented language."""
    if not text:
        return text
    parts = [part if KEPT.fullmatch(part) else part.translate(ACCENTS) for part in KEPT.split(text)]
    filler = " ".join("lorem"[: max(1, size)] for size in _sizes(round(len(text) * LONGER)))
    return f"{OPENS}{''.join(parts)}{' ' if len(text) > 5 else ''}{filler}{CLOSES}"


def _sizes(letters: int) -> Iterator[int]:
    """Lengths of made-up words that are so long together."""
    while letters > 0:
        yield min(5, letters)
        letters -= 6


class Catalogue(NullTranslations):
    """Stands where Django keeps a language's catalogue."""

    def language(self) -> str:
        return CODE

    def to_language(self) -> str:
        return CODE

    @property
    def domain(self) -> str:
        return "django"

    def gettext(self, message: str) -> str:
        """A text; where a word has several meanings, Django writes which one is meant before it."""
        return pseudo(message.rpartition(trans_real.CONTEXT_SEPARATOR)[2])

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)


def install() -> None:
    """Put the catalogue where Django looks for one of that code."""
    trans_real._translations[CODE] = Catalogue()  # type: ignore[attr-defined]


@contextmanager
def spoken() -> Iterator[None]:
    """Everything is said in the invented language."""
    from django.test import override_settings

    with override_settings(LANGUAGE_CODE=CODE, LANGUAGES=[(CODE, "Pseudo")]):
        install()  # Django forgets all catalogues when these settings change
        with translation.override(CODE):
            yield
