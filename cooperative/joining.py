"""Joins the modules of the recording page into one file when static files are collected.

A phone on a slow network fetches one file and not sixteen, and one file packs smaller. The modules stay as
they are written; each becomes a function with its own names, in the order in which they need each other.
"""

import re
from pathlib import Path

ENTRY = "heaps/drop-off.js"
JOINED = "heaps/drop-off.page.js"

IMPORT = re.compile(r'^import (?:\* as (?P<all>\w+)|\{ (?P<some>[^}]+) \}) from "\./(?P<file>[\w-]+\.js)";\n', re.M)
EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const) (\w+))", re.M)
COMMENT = re.compile(r"^\s*/\*.*?\*/\n", re.M | re.S)
INDENT = re.compile(r"^\s+", re.M)
UNJOINED = re.compile(r"^(import|export)\b.*", re.M)


def parts(folder: Path, name: str = ENTRY) -> dict[str, str]:
    """Every module that `name` needs and itself, by file name, each after those it needs."""
    found: dict[str, str] = {}
    _collect(folder / name, found)
    return found


def joined(folder: Path, name: str = ENTRY) -> str:
    """All modules behind `name` as one module."""
    return "".join(_as_function(file, text) for file, text in parts(folder, name).items())


def _collect(path: Path, found: dict[str, str]) -> None:
    text = path.read_text(encoding="utf-8")
    for match in IMPORT.finditer(text):
        if match["file"] not in found:
            _collect(path.parent / match["file"], found)
    found[path.name] = text


def _as_function(file: str, text: str) -> str:
    exported = EXPORT.findall(text)
    body = IMPORT.sub(_import, EXPORT.sub("", text))
    if left := UNJOINED.search(body):
        raise ValueError(f"{file}: cannot join this line: {left[0]}")
    body = INDENT.sub("", COMMENT.sub("", body))
    return f"const {_name(file)}=(()=>{{\n{body}return{{{','.join(exported)}}};\n}})();\n"


def _import(match: re.Match[str]) -> str:
    names = match["all"] or "{" + match["some"].replace(" as ", ":") + "}"
    return f"const {names}={_name(match['file'])};\n"


def _name(file: str) -> str:
    return "$" + file.removesuffix(".js").replace("-", "_")
