"""What must hold of the files a browser gets: every import leads somewhere, and nothing leads to another origin."""

import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath

IMPORT = re.compile(r"""(?:\bfrom\s*|\bimport\s*\(?\s*)["'](?P<to>\.{1,2}/[^"']+|/[^"']+)["']""")
#: Names of vocabularies, never fetched.
VOCABULARIES = ("http://www.w3.org/",)
ORIGIN = re.compile(r"""(?:https?:)?//[a-z0-9.-]+\.[a-z]{2,}[^\s"'<>)]*""", re.IGNORECASE)
READ_BY_BROWSERS = frozenset({".html", ".js", ".css", ".svg", ".json", ".webmanifest"})


def broken_imports(root: Path) -> list[str]:
    """Imports in the hashed modules under `root` that name no hashed file of the manifest there."""
    named = set(json.loads((root / "staticfiles.json").read_text())["paths"].values())
    hashed = {name for name in named if (root / name).is_file()}
    return [f"{name} is in the manifest and not on the disk" for name in sorted(named - hashed)] + [
        f"{module}: {to} is not among the hashed files"
        for module in sorted(name for name in hashed if name.endswith(".js"))
        for to, target in _imports(root, module)
        if target not in hashed
    ]


def _imports(root: Path, module: str) -> Iterator[tuple[str, str]]:
    for match in IMPORT.finditer((root / module).read_text()):
        to = match["to"]
        whole = PurePosixPath(to.removeprefix("/static/")) if to[0] == "/" else PurePosixPath(module).parent / to
        yield to, _plain(whole)


def _plain(path: PurePosixPath) -> str:
    """The path without `.` and `..`."""
    parts: list[str] = []
    for part in path.parts:
        if part == "..":
            parts = parts[:-1]
        elif part != ".":
            parts.append(part)
    return "/".join(parts)


def other_origins(folders: Iterable[Path]) -> list[str]:
    """Places in pages, styles and scripts that name an address outside this installation."""
    found = []
    for path in sorted(path for folder in folders for path in folder.rglob("*") if path.is_file()):
        if path.suffix not in READ_BY_BROWSERS:
            continue
        for number, line in enumerate(path.read_text().splitlines(), 1):
            strange = [url for url in ORIGIN.findall(line) if not url.startswith(VOCABULARIES)]
            found += [f"{path}:{number}: {url}" for url in strange]
    return found
