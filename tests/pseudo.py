"""An invented language: every text is bracketed, accented and about 40 % longer. What is not, was forgotten.

Its catalogue is made of the texts that a translator would get, so what `manage.py words` misses shows, too.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import django
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from django.test import override_settings
from django.utils import translation

from cooperative.words import catalogue

CODE = "qps"  # of the codes that ISO 639 leaves for private use, qaa to qtz
OPENS, CLOSES = "⟦", "⟧"
LONGER = 0.4
ACCENTS = str.maketrans("aceinosuyzACEINOSUYZ", "àçéîñöšüýžÀÇÉÎÑÖŠÜÝŽ")
#: Stays as it is: what a value takes the place of, and marks of HTML.
KEPT = re.compile(r"(%\(\w+\)[sd]|%[sd%]|\{\w*\}|<[^>]*>|&\w+;)")
DJANGO = Path(django.__file__).parent
OF_DJANGO = ("conf", "contrib/auth")


def pseudo(text: str) -> str:
    """A text in the invented language."""
    parts = [part if KEPT.fullmatch(part) else part.translate(ACCENTS) for part in KEPT.split(text)]
    filler = " ".join("lorem"[:size] for size in _sizes(round(len(text) * LONGER)))
    return f"{OPENS}{''.join(parts)}{' ' if len(text) > 5 else ''}{filler}{CLOSES}"


def _sizes(letters: int) -> Iterator[int]:
    """Lengths of made-up words that are so long together."""
    while letters > 0:
        yield min(5, letters)
        letters -= 6


def write(folder: Path) -> Path:
    """Lay the language into a folder as Django finds it there. Django's own texts belong to it."""
    texts = catalogue()
    for part in OF_DJANGO:
        with (DJANGO / part / "locale/en/LC_MESSAGES/django.po").open("rb") as file:
            for one in read_po(file):
                texts.add(one.id, context=one.context)
    for one in texts:
        if one.id:
            one.string = tuple(pseudo(form) for form in one.id) if isinstance(one.id, tuple) else pseudo(one.id)
    return write_language(folder, CODE, texts)


def write_language(folder: Path, code: str, texts: Catalog) -> Path:
    """Lay a catalogue into a folder as Django finds it there."""
    made = folder / translation.to_locale(code) / "LC_MESSAGES" / "django.mo"
    made.parent.mkdir(parents=True)
    with made.open("wb") as file:
        write_mo(file, texts)
    return folder


@contextmanager
def spoken(folder: Path, code: str = CODE) -> Iterator[None]:
    """Everything is said in the language that lies in this folder."""
    settings = {"LOCALE_PATHS": [folder], "LANGUAGE_CODE": code, "LANGUAGES": [(code, code)]}
    with override_settings(**settings), translation.override(code):
        yield
