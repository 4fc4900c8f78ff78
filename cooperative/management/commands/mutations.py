"""`manage.py mutations`: break the code line by line, and see that the tests notice."""

import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from tests.postgres import private_cluster

HOME: Path = settings.BASE_DIR
LIST = "tests/mutations.toml"
LEFT_BEHIND = (".git", ".var", ".venv", "__pycache__", ".mypy_cache", ".ruff_cache", ".hypothesis")
#: What a breakage's test runs on, as its DATABASE_URL.
ENGINES: dict[str, Callable[[], AbstractContextManager[str]]] = {
    "sqlite": lambda: nullcontext(""),
    "postgresql": private_cluster,
}
PASSED, FAILED = 0, 1  # pytest's own exit codes


@dataclass(frozen=True)
class Mutation:
    """One breakage: where, what stands there, what is put instead, which test must fail, and what it would mean.

    `on` is the database on which that test runs."""

    file: str
    find: str
    replace: str
    test: str
    why: str
    on: str = "sqlite"

    def apply(self, tree: Path) -> str:
        """Break the file. The text that stood there."""
        path = tree / self.file
        whole = path.read_text()
        if whole.count(self.find) != 1:
            raise CommandError(f"{self.file} holds {whole.count(self.find)} times, not once: {self.find}")
        path.write_text(whole.replace(self.find, self.replace))
        return whole


class Command(BaseCommand):
    help = "Break the code line by line in a copy, and say which breakages the tests do not notice."
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("words", nargs="*", help="only breakages whose file or test holds one of these words")

    def handle(self, *args: Any, **options: Any) -> None:
        chosen = [one for one in mutations() if wanted(one, options["words"])]
        if not chosen:
            raise CommandError("No breakage of the list has one of these words in its file or its test.")
        with tempfile.TemporaryDirectory(prefix="heaps-mutations-") as folder:
            tree = Path(folder) / "tree"
            shutil.copytree(HOME, tree, ignore=shutil.ignore_patterns(*LEFT_BEHIND))
            survivors = sum(self.survivors(tree, chosen, engine) for engine in ENGINES)
        self.stdout.write(f"{len(chosen)} breakages, {survivors} not noticed")
        if survivors:
            raise CommandError("Some breakages are not noticed.", returncode=1)

    def survivors(self, tree: Path, chosen: list[Mutation], engine: str) -> int:
        """How many of those whose tests run on this database are not noticed."""
        these = [one for one in chosen if one.on == engine]
        if not these:
            return 0
        with ENGINES[engine]() as url:
            code, said = outcome(tree, sorted({one.test for one in these}), url)
            if code != PASSED:
                raise CommandError(f"A test of the list fails although nothing is broken yet.\n{said}")
            return sum(self.survives(tree, one, url) for one in these)

    def survives(self, tree: Path, mutation: Mutation, url: str) -> bool:
        """Whether the test does not notice. A test that cannot even run has noticed nothing."""
        whole = mutation.apply(tree)
        code, _said = outcome(tree, [mutation.test], url)
        (tree / mutation.file).write_text(whole)
        word = {PASSED: "SURVIVED", FAILED: "killed"}.get(code, f"SURVIVED (pytest could not run: {code})")
        self.stdout.write(f"{word:9} {mutation.file}: {mutation.why}  [{mutation.test}]")
        self.stdout.flush()
        return code != FAILED


def mutations() -> list[Mutation]:
    """The breakages of the list."""
    return [Mutation(**one) for one in tomllib.loads((HOME / LIST).read_text())["mutation"]]


def wanted(mutation: Mutation, words: list[str]) -> bool:
    """Whether one of the words names the mutation, or no words were given."""
    return not words or any(word in f"{mutation.file} {mutation.test}" for word in words)


def outcome(tree: Path, tests: list[str], url: str) -> tuple[int, str]:
    """pytest's exit code in the copy, stopping at the first failure, and what it said. Without a URL: on SQLite."""
    env = {**os.environ, "HEAPS_MODE": "test", "HEAPS_VAR": str(tree.parent / "var"), "PYTHONDONTWRITEBYTECODE": "1"}
    env |= {"DATABASE_URL": url} if url else {}
    command = [sys.executable, "-m", "pytest", "-x", "-q", *tests]
    done = subprocess.run(command, cwd=tree, env=env, capture_output=True, check=False, text=True)  # noqa: S603 - pytest only
    return done.returncode, done.stdout
