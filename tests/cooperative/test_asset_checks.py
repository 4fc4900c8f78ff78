"""The checks of hashed modules and of foreign origins find what they are there to find."""

import json
from pathlib import Path

import pytest

from cooperative.asset_checks import broken_imports, other_origins


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """Two hashed modules and their manifest."""
    for name in ("heaps/form.1a.js", "heaps/outbox.2b.js", "cooperative/words.3c.js"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("export const here = 1;\n")
    paths = {
        "heaps/form.js": "heaps/form.1a.js",
        "heaps/outbox.js": "heaps/outbox.2b.js",
        "cooperative/words.js": "cooperative/words.3c.js",
    }
    (tmp_path / "staticfiles.json").write_text(json.dumps({"paths": paths}))
    return tmp_path


@pytest.mark.parametrize(
    "line",
    [
        'import { here } from "./outbox.2b.js";',
        "import './outbox.2b.js';",
        'import * as all from "../cooperative/words.3c.js";',
        'const late = await import("./outbox.2b.js");',
        'export { here } from "/static/heaps/outbox.2b.js";',
        "const from = 3;",
    ],
)
def test_an_import_of_a_hashed_module_is_fine(root: Path, line: str) -> None:
    (root / "heaps/form.1a.js").write_text(line)
    assert broken_imports(root) == []


@pytest.mark.parametrize(
    "line",
    [
        'import { here } from "./outbox.js"',
        'import {here} from"./outbox.js";',
        "import './outbox.js';",
        'const late = await import("./outbox.js");',
        'export * from "../cooperative/words.js";',
        'import { here } from "./gone.9z.js";',
    ],
)
def test_an_import_that_was_not_hashed_is_found(root: Path, line: str) -> None:
    (root / "heaps/form.1a.js").write_text(line)
    (root / "heaps/outbox.js").write_text("the unhashed file lies beside it\n")
    (found,) = broken_imports(root)
    assert found.startswith("heaps/form.1a.js: ")


def test_a_hashed_module_that_is_not_on_the_disk_is_found(root: Path) -> None:
    (root / "heaps/form.1a.js").write_text('import "./outbox.2b.js";')
    (root / "heaps/outbox.2b.js").unlink()
    assert broken_imports(root) == [
        "heaps/outbox.2b.js is in the manifest and not on the disk",
        "heaps/form.1a.js: ./outbox.2b.js is not among the hashed files",
    ]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("a.html", '<script src="https://elsewhere.example/x.js"></script>'),
        ("a.html", '<img src="//elsewhere.example/x.png">'),
        ("a.js", 'fetch("http://elsewhere.example/");'),
        ("a.css", "@import url(//fonts.elsewhere.example/css);"),
    ],
)
def test_another_origin_is_found(tmp_path: Path, name: str, line: str) -> None:
    (tmp_path / name).write_text(f"fine\n{line}\n")
    (found,) = other_origins([tmp_path])
    assert found.startswith(f"{tmp_path / name}:2: ")


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("a.svg", '<svg xmlns="http://www.w3.org/2000/svg">'),
        ("a.js", "const half = 1; // the other half"),
        ("a.html", '<a href="/drop-off/">'),
        ("a.txt", "https://elsewhere.example/"),
    ],
)
def test_our_own_addresses_and_vocabularies_are_fine(tmp_path: Path, name: str, line: str) -> None:
    (tmp_path / name).write_text(line)
    assert other_origins([tmp_path]) == []
