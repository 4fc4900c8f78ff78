"""Gathers every text that is shown, from templates, Python and the table of materials, into one catalogue.

Django's own `makemessages` needs programs of the system and knows neither the table nor the pure core, which marks its
sentences by what they are handed to. Babel keeps the catalogue and writes it.
"""

import ast
import csv
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

from babel.messages.catalog import Catalog
from django.conf import settings
from django.utils.translation.template import templatize

HOME: Path = settings.BASE_DIR
APPS = ("cooperative", "heaps", "members")
TABLE = Path("heaps/science/materials.csv")
READ_COLUMNS = ("name", "short", "reason", "instead")
#: Calls that take a text, and which of their arguments it is, or the text and its plural.
MARKS: dict[str, tuple[int, ...]] = {
    **dict.fromkeys(("_", "_now", "_lazy", "gettext", "gettext_lazy", "gettext_noop"), (0,)),
    **dict.fromkeys(("ngettext", "ngettext_lazy"), (0, 1)),
    # the pure core: sentences of a refusal, and what its fields are called in one
    **dict.fromkeys(("Refusal", "BadCell", "Unreadable"), (0,)),
    **dict.fromkeys(("whole", "maybe_whole"), (2,)),
    **dict.fromkeys(
        ("word", "maybe_word", "special", "maybe_special", "maybe_several", "read_uid", "read_moment"), (1,)
    ),
    "read_whole": (3,),
}
STRING = r"""\s*u?(?:'(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")\s*"""
CALL = re.compile(rf"\b(n?p?gettext|_)\(({STRING}(?:,{STRING})*)", re.S)

Found = tuple[str, int, str | tuple[str, str], str | None]  # file, line, text (with its plural), which meaning


def catalogue() -> Catalog:
    """Every text with where it stands."""
    made = Catalog(project="Cooperative Heaps", copyright_holder="", charset="utf-8", fuzzy=False)
    for file, line, text, context in [*in_templates(), *in_python(), *in_the_table()]:
        made.add(text, locations=[(file, line)], context=context)
    return made


def in_templates() -> Iterator[Found]:
    """Texts of templates, by Django's own reading of them."""
    for path in sorted(path for path in (HOME / "templates").rglob("*") if path.is_file()):
        code = templatize(path.read_text("utf-8"), origin=str(path))
        for match in CALL.finditer(code):
            texts: tuple[str, ...] = ast.literal_eval(f"({match[2]},)")
            line = code.count("\n", 0, match.start()) + 1
            context, texts = (texts[0], texts[1:]) if "p" in match[1] else (None, texts)
            yield str(path.relative_to(HOME)), line, texts if len(texts) == 2 else texts[0], context


def in_python() -> Iterator[Found]:
    """Texts of the program, those within an f-string, too."""
    for path in sorted(path for app in APPS for path in (HOME / app).rglob("*.py") if "migrations" not in path.parts):
        for call in ast.walk(ast.parse(path.read_bytes())):
            if isinstance(call, ast.Call) and (places := MARKS.get(_name(call.func))):
                given = (cast(ast.Constant, call.args[place]) for place in places if _is_text(call, place))
                texts: list[Any] = [one.value for one in given]
                if len(texts) == len(places):
                    yield str(path.relative_to(HOME)), call.lineno, texts[0] if len(texts) == 1 else tuple(texts), None


def _name(called: ast.expr) -> str:
    """`Refusal` of `wire.Refusal(...)`."""
    return called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""


def _is_text(call: ast.Call, place: int) -> bool:
    """Whether that argument is written out; of what is only known later, the literal stands elsewhere."""
    given = call.args[place] if place < len(call.args) else None
    return isinstance(given, ast.Constant) and isinstance(given.value, str) and given.value != ""


def in_the_table() -> Iterator[Found]:
    """What the table of materials says to people. It is translated where it is shown."""
    with (HOME / TABLE).open(encoding="utf-8", newline="") as file:
        for line, row in enumerate(csv.DictReader(file), 2):
            yield from ((str(TABLE), line, row[column], None) for column in READ_COLUMNS if row[column])
