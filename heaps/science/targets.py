"""The published ranges that a mix should lie in, as sums linear in the mix; and what a squeezed handful adds."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from heaps.science.blend import Mix

#: Shares by volume that pack flat. Coffee: a fifth (common practice); grass: half, the upper end of greens
#: (RHS-COMP, read: 25 to 50 % soft greens).
MUCH_COFFEE, MUCH_GRASS = 0.20, 0.50
#: Air: 20 % at least (TN24, read), 30 % often quoted (from memory, high); as filled, so before it sinks. There is
#: no upper bound: TN24's 35 to 60 % is of heaps that have sunk, and a fresh heap of browns is looser.
LEAST_AIR = 0.30
#: A choice keeps inside each bound by a hundred-thousandth of it: more than a solver is off by, less than matters.
#: Not of shares: a barrow of browns to a barrow of grass is half, and half will do.
INSIDE = 1e-5

#: What two people fetch and mix in on one day; the rest is for the next time (common practice).
MOST_AT_ONCE = 20
#: The hand test, from dry to wet: dust, crumbles, holds, drops, runs; "holds" and "drops" are right (TK31).
DRY_SQUEEZES, WET_SQUEEZE = ("dust", "crumbles"), "runs"
#: The moisture that each word can mean, least and most. "Holds" and "drops" are 50 to 60 % (TK31, read), give or
#: take; the rest from squeeze-test tables of extension services, from memory (medium).
MOISTURE_OF_SQUEEZE: dict[str, tuple[float, float]] = {
    "dust": (0.0, 0.30),
    "crumbles": (0.30, 0.38),
    "holds": (0.45, 0.60),
    "drops": (0.50, 0.65),
    "runs": (0.70, 1.0),
}


@dataclass(frozen=True)
class Targets:
    """Ranges of C:N and of moisture, the least free air space, and the largest share by volume of some classes."""

    c_to_n: tuple[float, float]
    moisture: tuple[float, float]
    least_air: float = LEAST_AIR
    most_share: Mapping[str, float] = field(
        default_factory=lambda: {"coffee": MUCH_COFFEE, "grass": MUCH_GRASS}, hash=False
    )


#: What a mix is brought to: C:N 25 to 40 (COMPHB, read), 50 to 60 % water (COR-MIX, read).
IDEAL = Targets((25.0, 40.0), (0.50, 0.60))
#: What will do where the ideal is out of reach: C:N 20 to 40 (COOP02, read), 40 to 65 % water (COMPHB, read).
ACCEPTABLE = Targets((20.0, 40.0), (0.40, 0.65))
#: What is left alone. C:N up to 50, between the 40 of COOP02 and the 60 of COMPHB (both read), because the sums count
#: all carbon of wood, most of which does not rot in a season. Water up to 68 %: three points of grace, because a
#: typical figure of the table is not surer than that.
LEFT_ALONE = Targets((20.0, 50.0), (0.40, 0.68))


def surpluses(mix: Mix, targets: Targets, inside: float = 0.0) -> tuple[float, ...]:
    """By how much a mix keeps within each bound: negative where it does not. Each figure is a sum over the parts.

    "C / N is at least 25" is "C - 25 N is at least 0", and "air is at least 30 % of the heap" is "water and solids
    are at most 70 % of its litres": so a programme of whole numbers needs no ratio. Litres of air and of shares are
    given in tenths, so that all figures are about as large as the kilograms beside them.
    """
    least_c, most_c = targets.c_to_n
    least_water, most_water = targets.moisture
    under, over = 1 + inside, 1 - inside
    return (
        mix.carbon_kg - least_c * under * mix.nitrogen_kg,
        most_c * over * mix.nitrogen_kg - mix.carbon_kg,
        mix.water_kg - least_water * under * mix.wet_kg,
        most_water * over * mix.wet_kg - mix.water_kg,
        ((1 - targets.least_air * under) * mix.heap_l - mix.solid_l) / 10,
        *((share * mix.tipped_l - mix.class_l.get(one, 0.0)) / 10 for one, share in targets.most_share.items()),
    )


def in_range(mix: Mix, targets: Targets) -> bool:
    """Whether a mix lies within all ranges. Where there is nothing, nothing is out of range."""
    slack = 1e-9 * (1 + mix.wet_kg)  # of adding up
    return all(surplus >= -slack for surplus in surpluses(mix, targets))


def as_felt(mix: Mix, squeeze: str | None) -> Mix:
    """The mix with the rain, or the drought, that a squeezed handful shows and the sums do not know of."""
    if squeeze is None or mix.moisture_fraction is None or mix.dry_kg <= 0:
        return mix
    least, most = MOISTURE_OF_SQUEEZE[squeeze]
    felt = min(max(mix.moisture_fraction, least), most)
    return mix if felt == mix.moisture_fraction else replace(mix, wet_kg=mix.dry_kg / (1 - felt))
