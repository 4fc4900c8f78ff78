"""Will it fit? The litres of what is turned, now and just after forking, against the bay it goes into."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

#: How much looser matter lies just after it was forked, least and most: 9 to 25 %, typically 15 (common practice; the
#: spread of a model tuned to published heaps, of which two half-year bays made a heaped 127 % of one on the day).
FLUFFED = (1.09, 1.25)
#: What is left of the volume so many days after, least and most. A hot garden heap had sunk to 80 % in a week (one
#: observation, Public Lab 2016, read); a cool one hardly sinks. After a month: 28 % lower (stockpile, KAMP24, read) to
#: hardly at all.
WEEK_LEFT, MONTH_LEFT = (0.80, 0.97), (0.70, 0.92)
#: A fill mark is read to about a tenth of the bay, a fill reckoned from loads to a quarter (common practice).
READ, RECKONED = 0.10, 0.25
#: A heap stands over the edge of a bay by a tenth and holds (common practice).
HEAPED = 1.10


class Fits(StrEnum):
    """Whether a turn fits its bay on the day."""

    YES = "yes"
    HEAPED = "only heaped"
    PERHAPS = "perhaps"
    NO = "no"


@dataclass(frozen=True)
class Lying:
    """What lies in one bay, and how much of it is moved. `marked`: the fill was read, not reckoned."""

    volume_l: float
    share: float = 1.0
    marked: bool = True


@dataclass(frozen=True)
class Span:
    """Litres, least and most."""

    least_l: float
    most_l: float


@dataclass(frozen=True)
class Fit:
    """The litres in the bay that is turned into: now, on the day, after a week and after a month."""

    now: Span
    forked: Span
    after_week: Span
    after_month: Span
    bay_l: float

    @property
    def fits(self) -> Fits:
        """On the day of the turn."""
        if self.forked.most_l <= self.bay_l:
            return Fits.YES
        if self.forked.most_l <= self.bay_l * HEAPED:
            return Fits.HEAPED
        return Fits.PERHAPS if self.forked.least_l <= self.bay_l else Fits.NO

    @property
    def over_l(self) -> float:
        """Litres that may have to lie elsewhere for a while: none, or the most that do not go into the bay."""
        return max(0.0, self.forked.most_l - self.bay_l)


def will_it_fit(moved: Iterable[Lying], bay_l: float, lies_there: Lying | None = None) -> Fit:
    """Several bays forked into one of `bay_l` litres, in which something may lie already that is left as it is."""
    loose = _sum([span(one) for one in moved])
    still = span(lies_there) if lies_there else Span(0.0, 0.0)
    forked = Span(loose.least_l * FLUFFED[0], loose.most_l * FLUFFED[1])
    return Fit(
        now=_sum([loose, still]),
        forked=_sum([forked, still]),
        after_week=_sum([_times(forked, WEEK_LEFT), still]),
        after_month=_sum([_times(forked, MONTH_LEFT), still]),
        bay_l=bay_l,
    )


def span(one: Lying) -> Span:
    """As many litres as it may be of what is moved."""
    unsure = READ if one.marked else RECKONED
    volume_l = one.volume_l * one.share
    return Span(volume_l * (1 - unsure), volume_l * (1 + unsure))


def _times(span: Span, factors: tuple[float, float]) -> Span:
    return Span(span.least_l * factors[0], span.most_l * factors[1])


def _sum(spans: Iterable[Span]) -> Span:
    listed = list(spans)
    return Span(sum(one.least_l for one in listed), sum(one.most_l for one in listed))
