"""The living heap's own steps against SciPy's solver at a tight tolerance, on equations written out anew."""

import numpy as np
import pytest

from heaps.science.living.events import Event, Turn
from heaps.science.living.parameters import middle
from heaps.science.living.run import run
from heaps.science.living.state import Bay
from tests.living_heaps import BAY, MAY, NOVEMBER, batch, fed, season, tipped
from tests.living_solver import solved

#: What must hold: kelvin, root mean square over 400 days; share of dry matter and volume on every evening.
NEAR_K, NEAR_SHARE = 0.2, 0.005
#: Within 0.024 K rms and 0.03 % of the eighth order at 1e-6: far inside what is promised, in a tenth of the time.
TIGHT = {"method": "RK45", "rtol": 1e-5, "atol": 1e-6}
CASES: dict[str, tuple[Bay, list[Event], object]] = {
    "a batch turned three times": (BAY, batch(14, 28, 49), MAY),
    "a slowly fed bay with turns": (BAY, [*fed(range(0, 180, 7)), *[Turn(day, 0) for day in (60, 120, 185)]], MAY),
    "an open leaf bin": (Bay(1, 1, covered=False, leaf=True), tipped({"leaves-mixed": 1500}), NOVEMBER),
}


@pytest.mark.parametrize("name", CASES)
def test_as_near_as_promised(name: str) -> None:
    bay, events, begins = CASES[name]
    days = season(begins)  # type: ignore[arg-type]  # of the type it asks for
    exact = solved([bay], events, middle(), days, **TIGHT)
    course = run([bay], events, middle(), days)
    apart_k = float(np.sqrt(((course.core_c - exact.core_c) ** 2).mean()))
    volume = np.abs(course.volume_m3 / exact.volume_m3 - 1).max()
    dry = np.abs(course.end.dry_kg / exact.dry_kg[-1] - 1).max()
    assert apart_k < NEAR_K
    assert volume < NEAR_SHARE
    assert dry < NEAR_SHARE
    assert exact.core_c.max() > course.air_c.max() + (2 if bay.leaf else 10)  # something happened in it
