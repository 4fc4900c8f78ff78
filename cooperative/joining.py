"""Joins the modules and the style sheets of the recording pages into one file each when static files are collected.

A phone on a slow network fetches one file and not twenty, and one file packs smaller. Modules are set one after the
other, each after those it needs, inside one function, so that all their names can be shortened; comments and blanks go.
Sheets lose comments and blanks.
"""

import re
from pathlib import Path

import minify

ENTRY = "heaps/drop-off.js"
#: The joined file of each page, and the module that starts it.
PAGES = {"heaps/drop-off.page.js": ENTRY, "heaps/more.page.js": "heaps/more.js", "heaps/kept.page.js": "heaps/kept.js"}

#: The joined style sheet of both.
SHEET, SHEETS = "heaps/drop-off.page.css", ("cooperative/base.css", "heaps/drop-off.css")

IMPORT = re.compile(r'^import \{[^}]+\} from "\./(?P<file>[\w-]+\.js)";\n', re.M)
EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const) )", re.M)
TOP_NAME = re.compile(r"^(?:export )?(?:(?:async )?function|const|let) (\w+)", re.M)
SHEET_COMMENT = re.compile(r"/\*.*?\*/\n?", re.S)
SPACE = re.compile(r"([{;,\n])[ \t]+")
UNJOINED = re.compile(r"^(import|export)\b.*", re.M)


def parts(folder: Path, name: str = ENTRY) -> dict[str, str]:
    """Every module that `name` needs and itself, by file name, each after those it needs."""
    found: dict[str, str] = {}
    _collect(folder / name, found)
    return found


def joined(folder: Path, name: str = ENTRY) -> str:
    """All modules behind `name` as one. They must not share a name at their top level: what is not found here, by
    file, stops the shortening."""
    modules = parts(folder, name)
    owners: dict[str, str] = {}
    for file, text in modules.items():
        for top_name in TOP_NAME.findall(text):
            if top_name in owners:
                raise ValueError(f"{file} and {owners[top_name]} both call something {top_name}")
            owners[top_name] = file
    whole = "".join(_without_wrapping(file, text) for file, text in modules.items())
    short: str = minify.string("application/javascript", f"(()=>{{{whole}}})()")
    return short


def joined_sheets(folder: Path) -> str:
    """The style sheets one after the other, without comments and the spaces that only a reader needs."""
    text = "".join((folder / name).read_text(encoding="utf-8") for name in SHEETS)
    return SPACE.sub(r"\1", SHEET_COMMENT.sub("", text)).replace(" {", "{").replace("; }", "}")


def _collect(path: Path, found: dict[str, str]) -> None:
    text = path.read_text(encoding="utf-8")
    for match in IMPORT.finditer(text):
        if match["file"] not in found:
            _collect(path.parent / match["file"], found)
    found[path.name] = text


def _without_wrapping(file: str, text: str) -> str:
    if renamed := re.search(r"^import \{[^}]* as ", text, re.M):
        raise ValueError(f"{file}: cannot join a renaming: {renamed[0]}")
    body = IMPORT.sub("", EXPORT.sub("", text))
    if left := UNJOINED.search(body):
        raise ValueError(f"{file}: cannot join this line: {left[0]}")
    return body
