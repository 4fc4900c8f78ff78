"""How a run of many faults ends: its figures for people or for a program, and kept in a file where that is asked."""

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from cooperative.bench import Figure, table

FIGURES = Path(__file__).resolve().parents[1] / "figures"


def parser_of(run: str, does: str | None) -> argparse.ArgumentParser:
    """With what every run understands."""
    parser = argparse.ArgumentParser(prog=f"manage.py faults {run}".strip(), description=does)
    parser.add_argument("--keep", action="store_true", help=f"add the figures to those in {FIGURES.name}/, too")
    parser.add_argument("--json", action="store_true", help="for a program")
    return parser


def tell(given: argparse.Namespace, name: str, figures: Sequence[Figure]) -> int:
    """Print them; the exit code. `name` is that of the file in which each run has a line."""
    plain = [one.plain() for one in figures]
    sys.stdout.write((json.dumps(plain, indent=1) if given.json else table(figures)) + "\n")
    if given.keep:
        run = {str(one["name"]).partition(": ")[2]: one["value"] for one in plain}
        with (FIGURES / f"faults-{name}.jsonl").open("a", encoding="utf-8") as runs:
            runs.write(json.dumps(run) + "\n")
    return int(any(one.holds is False for one in figures))


def counted(of: str, told: dict[str, float], counters: dict[str, int], seconds: float) -> list[Figure]:
    """What was truly done, how long it took, and the counters, each of which must be 0."""
    return [
        *(Figure(f"{of}: {name}", value, "") for name, value in told.items()),
        Figure(f"{of}: time", seconds, "s"),
        *(Figure(f"{of}: {name}", value, "", bar=0) for name, value in counters.items()),
    ]
