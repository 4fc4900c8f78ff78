"""The table of faults: what each is, what came of it, and the tests that prove it.

`python -m tests.faults.table [--json]` prints it, as `manage.py faults --table` does.
"""

import argparse
import ast
import json
import sys
import tomllib
from dataclasses import asdict, dataclass
from pathlib import Path

HOME = Path(__file__).resolve().parents[2]
FILE = Path(__file__).parent / "table.toml"
VERDICTS = ("survived", "not applicable", "not tried here")
#: Every fault of the list, and those that must be met two at once.
SINGLE = tuple(f"F{number}" for number in range(1, 36))
COMPOUND = ("F2+F16", "F4+F24", "F19+F30", "F20+F25", "F27+F6")


@dataclass(frozen=True)
class Row:
    """One fault. A verdict other than "survived" says because of what; "survived" names its tests."""

    id: str
    what: str
    verdict: str
    seen: str = ""
    because: str = ""
    tests: tuple[str, ...] = ()


def rows() -> list[Row]:
    """The table, in the order of the numbers."""
    said = tomllib.loads(FILE.read_text(encoding="utf-8"))["fault"]
    read = [Row(**one | {"tests": tuple(one.get("tests", ()))}) for one in said]
    order = {name: place for place, name in enumerate((*SINGLE, *COMPOUND))}
    return sorted(read, key=lambda row: order.get(row.id, len(order)))


def exists(test: str) -> bool:
    """Whether the file of a node id holds a test of that name, inside its classes if it names any."""
    path, *names = test.split("::")
    file = HOME / path
    inside: list[ast.stmt] = ast.parse(file.read_text(encoding="utf-8")).body if file.is_file() else []
    for name in names:
        found = [one for one in inside if isinstance(one, ast.FunctionDef | ast.ClassDef) and one.name == name]
        if not found:
            return False
        inside = found[0].body
    return bool(names)


def unproved(outcomes: dict[str, str]) -> list[str]:
    """What is wrong with the table after a run of everything: `outcomes` is what came of each test by its node id."""
    wrong = []
    for row in rows():
        for test in row.tests:
            came = [outcome for node, outcome in outcomes.items() if node == test or node.startswith(f"{test}[")]
            if not came:
                wrong.append(f"{row.id}: {test} did not run")
            elif set(came) != {"passed"}:
                wrong.append(f"{row.id}: {test} did not pass")
    return wrong


def text(read: list[Row]) -> str:
    """The table for people."""
    lines = []
    for row in read:
        why = f" because {row.because}" if row.because else ""
        lines += [f"{row.id:7} {row.verdict}{why}: {row.what}"]
        lines += [f"        seen: {row.seen}"] if row.seen else []
        lines += [f"        {test}" for test in row.tests]
    survived = sum(row.verdict == "survived" for row in read)
    return "\n".join([*lines, f"{len(read)} faults and pairs, {survived} survived"])


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--json", action="store_true")
    given, _further = asked.parse_known_args()
    read = rows()
    sys.stdout.write(json.dumps([asdict(row) for row in read], indent=1) if given.json else text(read))
    sys.stdout.write("\n")


if __name__ == "__main__":
    main()
