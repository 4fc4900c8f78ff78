"""The stage a batch is in today. Records decide it, never a model."""

from datetime import datetime, timedelta
from enum import StrEnum

from heaps.ledger.heap import BayState
from heaps.science.climate import air_temp_c

#: Working ends 28 days after the last turn, once the last reading is under 10 C above the air
#: (Brinton 1995 class V, from memory: a rise of less than 10 C is a finished heap; 28 days: common practice).
QUIET_DAYS = 28
COOL_ABOVE_AIR_C = 10.0
#: Without a reading, the published slow time of an unturned bay: 39 weeks (RHS 6-24 months; the low end).
SLOW_DAYS = 39 * 7


class Stage(StrEnum):
    """From the first load to the last bag."""

    EMPTY = "empty"
    FILLING = "filling"
    WORKING = "working"
    MATURING = "maturing"
    READY = "ready"


def stage(state: BayState, now: datetime) -> Stage:
    """The stage of what lies in the bay at `now`."""
    batch = state.batch
    if batch is None:
        return Stage.EMPTY
    if batch.ready_at:
        return Stage.READY
    if state.closed_at is None:
        return Stage.FILLING
    stirred_at = max(moment for moment in (batch.turned_at, batch.fed_at, state.closed_at) if moment)
    reading = batch.temp if batch.temp and batch.temp.at >= stirred_at else None
    if reading is None:
        return Stage.MATURING if now - stirred_at >= timedelta(days=SLOW_DAYS) else Stage.WORKING
    air_c = air_temp_c(reading.at.date()) if reading.air_tenths_c is None else reading.air_tenths_c / 10
    cool = int(reading.value) / 10 - air_c < COOL_ABOVE_AIR_C
    return Stage.MATURING if cool and now - stirred_at >= timedelta(days=QUIET_DAYS) else Stage.WORKING
