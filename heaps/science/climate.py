"""The air where no thermometer hangs: a usual year in the lowland United Kingdom."""

from datetime import date
from math import cos, tau

#: A sine through the monthly means of lowland UK places, from memory (medium): 10.3 C over the year, about
#: 4 C at the end of January and 16.6 C at the end of July. Wrong elsewhere; a reading of the air is better.
MEAN_C = 10.3
AMPLITUDE_C = 6.3
WARMEST_DAY_OF_YEAR = 206  # 25 July
DAYS_IN_YEAR = 365.25


def air_temp_c(day: date) -> float:
    """The usual mean temperature of the air on `day`, in degrees Celsius. A single day may be 10 C off."""
    days_after_warmest = day.timetuple().tm_yday - WARMEST_DAY_OF_YEAR
    return MEAN_C + AMPLITUDE_C * cos(tau * days_after_warmest / DAYS_IN_YEAR)
