"""The leaf-mould clock: when a bin of each kind of leaf is mulch and when it is fine, with sources that disagree."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

DAYS_A_MONTH = 365.25 / 12
#: Shredded tough leaves take about one and a half years in place of two to three (from memory, medium): six tenths. Wet
#: leaves go on where dry ones stand still (RHS-LM, read: keep them moist): no figure, so a dry bin has no clock.
SHREDDED = 0.6


class Advice(StrEnum):
    """What helps, by kind of leaf."""

    AS_THEY_ARE = "as they are, moist"
    SHRED = "shred first"
    SECOND_YEAR_MIXED = "a second year, mixed with that autumn's soft leaves"
    MIXED_HEAP = "shredded into a mixed heap, not here"
    APART = "in a bin of their own"
    WET_IT = "wet it: dry leaves stand still"


@dataclass(frozen=True)
class Claim:
    """What one source says: months until it is a mulch, and until it is fine enough for sowing; None: nothing."""

    source: str
    checked: str
    mulch: tuple[float, float] | None
    fine: tuple[float, float] | None


@dataclass(frozen=True)
class Kind:
    """A kind of leaf: what sources say of its time, what those say that put it elsewhere, and what to do."""

    feedstock: str
    claims: tuple[Claim, ...]
    disagreeing: tuple[str, ...]
    advice: tuple[Advice, ...]


_SLOW_STEADY = Claim("RHS-LM", "read for 'little assistance'; times from memory (high)", (12, 12), (24, 24))
_THIRTY_MONTHS = Claim("ASKORG-LM", "second hand", None, (30, 30))
KINDS: Mapping[str, Kind] = {
    one.feedstock: one
    for one in (
        Kind(
            "leaves-oak",
            (_SLOW_STEADY, _THIRTY_MONTHS),
            ("SARI03",),
            (Advice.AS_THEY_ARE,),
        ),
        Kind("leaves-beech", (_SLOW_STEADY, _THIRTY_MONTHS), ("SARI03",), (Advice.AS_THEY_ARE,)),
        Kind(
            "leaves-quick",
            (
                Claim("VEST08", "abstract read for the order; months from memory (medium)", (9, 18), (12, 24)),
                Claim("ASKORG-LM", "second hand", None, (18, 18)),
            ),
            (),
            (Advice.AS_THEY_ARE,),
        ),
        Kind(
            "leaves-mixed",
            (_SLOW_STEADY, Claim("mem-M", "from memory (medium)", (9, 18), (18, 30))),
            (),
            (Advice.AS_THEY_ARE,),
        ),
        Kind(
            "leaves-thick",
            (Claim("RHS-LM", "read for 'shred'; months from memory (medium)", (24, 36), (30, 42)),),
            ("VEST08",),
            (Advice.SHRED, Advice.SECOND_YEAR_MIXED),
        ),
        Kind("leaves-evergreen", (), (), (Advice.SHRED, Advice.MIXED_HEAP)),
        Kind("needles", (Claim("RHS-LM", "read", (24, 36), None),), (), (Advice.APART,)),
    )
}
#: What the sources that disagree say. SARI03 (abstract read): in one laboratory year at 18 C beech lost less than oak.
#: VEST08 (abstract read): maples, the kin of sycamore, rot fast out of doors.
DISAGREE: Mapping[str, str] = {
    "SARI03": "beech slower than oak: 25.5 to 27.8 against 30.6 to 38.7 % in a year",
    "VEST08": "sycamore's kin, the maples, among the fastest",
}


@dataclass(frozen=True)
class Window:
    """From the first day that any source gives to the last."""

    first: date
    last: date


@dataclass(frozen=True)
class LeafClock:
    """When one bin may be mulch and when fine; what each source says; who disagrees; what helps."""

    mulch: Window | None
    fine: Window | None
    claims: tuple[Claim, ...]
    disagreeing: tuple[str, ...]
    advice: tuple[Advice, ...]


def leaf_clock(feedstock: str, filled: date, shredded: bool = False, dry: bool = False) -> LeafClock:
    """The clock of a bin filled on a day with one kind of leaf, and nothing but what its sources say.

    A dry bin has no clock until it is wetted: then `filled` is that day. Of several kinds in a bin the slowest counts.
    """
    kind = KINDS[feedstock]
    if dry:
        return LeafClock(None, None, kind.claims, kind.disagreeing, (Advice.WET_IT, *kind.advice))
    pace = SHREDDED if shredded and Advice.SHRED in kind.advice else 1.0
    advice = tuple(one for one in kind.advice if not (shredded and one is Advice.SHRED))
    mulch = _window(filled, [one.mulch for one in kind.claims if one.mulch], pace)
    fine = _window(filled, [one.fine for one in kind.claims if one.fine], pace)
    return LeafClock(mulch, fine, kind.claims, kind.disagreeing, advice)


def slowest(feedstocks: set[str]) -> str | None:
    """Of the kinds of leaf in a bin the one that takes longest, as the sources have it; None if there is no leaf."""
    timed = [one for one in sorted(feedstocks) if one in KINDS]
    return max(timed, key=_latest_months, default=None)


def _latest_months(feedstock: str) -> float:
    """The longest time that any source gives a kind until it is fine, or a mulch where none says more."""
    windows = [window for claim in KINDS[feedstock].claims for window in (claim.mulch, claim.fine) if window]
    return max((last for _first, last in windows), default=0)


def _window(filled: date, months: list[tuple[float, float]], pace: float) -> Window | None:
    if not months:
        return None
    first = min(low for low, _ in months) * pace
    last = max(high for _, high in months) * pace
    return Window(filled + timedelta(days=first * DAYS_A_MONTH), filled + timedelta(days=last * DAYS_A_MONTH))
