"""One measured figure, its bar, and whether it holds."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Figure:
    """A value, or its ratio to a baseline of the same run, against a bar: the most it may be, or the least."""

    name: str
    value: float
    unit: str
    bar: float | None = None
    baseline: float | None = None
    spread: str = ""
    at_least: bool = False

    @property
    def ratio(self) -> float | None:
        """How many times the baseline."""
        return None if self.baseline is None else self.value / self.baseline

    @property
    def holds(self) -> bool | None:
        """Whether it stays within its bar. None: there is no bar, it is only told."""
        if self.bar is None:
            return None
        found = self.value if self.ratio is None else self.ratio
        return found >= self.bar if self.at_least else found <= self.bar

    def plain(self) -> dict[str, object]:
        """As a program reads it."""
        return {
            "name": self.name,
            "value": round(self.value, 3),
            "unit": self.unit,
            "baseline": None if self.baseline is None else round(self.baseline, 3),
            "ratio": None if self.ratio is None else round(self.ratio, 3),
            "bar": self.bar,
            "holds": self.holds,
        }


def compared(name: str, ours: Sequence[float], bare: Sequence[float], bar: float | None) -> Figure:
    """Medians of two series in milliseconds that were measured in turns."""
    spread = f"{min(ours):.1f}-{max(ours):.1f} against {min(bare):.1f}-{max(bare):.1f} ms, {len(ours)} rounds"
    return Figure(name, median(ours), "ms", bar, median(bare), spread)


def p95(values: Sequence[float]) -> float:
    """What at most one in twenty exceeds, by nearest rank: of 20 values the nineteenth."""
    return sorted(values)[math.ceil(0.95 * len(values)) - 1]


def table(figures: Iterable[Figure]) -> str:
    """The figures for people."""
    lines = [f"{'':64} {'value':>10} {'':6} {'baseline':>9} {'ratio':>6} {'bar':>7}  holds"]
    for one in figures:
        baseline = "" if one.baseline is None else f"{one.baseline:.1f}"
        ratio = "" if one.ratio is None else f"{one.ratio:.2f}"
        bar = "" if one.bar is None else f"{one.bar:g}{'+' if one.at_least else ''}"
        verdict = {True: "yes", False: "NO", None: "told only"}[one.holds]
        lines.append(
            f"{one.name:64} {_written(one.value):>10} {one.unit:6} {baseline:>9} {ratio:>6} {bar:>7}  {verdict}"
            + (f"  ({one.spread})" if one.spread else "")
        )
    return "\n".join(lines)


def _written(value: float) -> str:
    if isinstance(value, int):
        return str(value)
    return f"{value:.1f}" if value >= 1 else f"{value:.3g}"
