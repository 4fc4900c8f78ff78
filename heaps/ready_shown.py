"""Is it ready? What each test showed of a heap, which agree, what is missing, and what it may be used for meanwhile."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from heaps import history, ledger
from heaps.ledger.kinds import Reading, Turn, Verdict, Water
from heaps.lineage import entries_of
from heaps.models import Bay, climate_at
from heaps.science import readiness
from heaps.science.climate import Climate
from heaps.science.readiness import NO_NEW_HEAT_K, Readiness, Reheating, Stage, Trial

#: A heap is wetted within a day of its turn, or a squeezed handful held together (common practice).
WETTED_WITHIN = timedelta(days=1)
DAMP = ("holds", "drops", "runs")
#: A moment, and how many kelvin a heap was above the air then.
Rise = tuple[datetime, float]


@dataclass(frozen=True)
class Shown:
    """One test: what it showed, the day, and what somebody answered. `counts` is false where it was too small."""

    trial: Trial
    stage: Stage | None
    day: date | None
    verdict: Verdict | None
    from_log: bool = False


@dataclass(frozen=True)
class Ready:
    """All tests in their order, and what they allow together."""

    tests: tuple[Shown, ...]
    together: Readiness
    rested_days: int | None


def readiness_of(bay: Bay, now: datetime) -> Ready:
    """The tests of what lies in `bay`, since it was last fed. `bay.site` must have been fetched."""
    batch = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState()).batch
    since = (batch.fed_at or batch.began) if batch else now
    entries = [one for one in entries_of(bay.site_id, batch) if one.at >= since]
    rises = list(_rises(entries, climate_at(bay.site_id)))
    tests = tuple(_shown(trial, entries, rises, bay) for trial in Trial)
    rested = _rested(rises, now)
    together = readiness.readiness({one.trial: one.stage for one in tests}, rested)
    return Ready(tests, together, rested.days if rested is not None else None)


def _shown(trial: Trial, entries: Sequence[ledger.Entry], rises: Iterable[Rise], bay: Bay) -> Shown:
    """The latest verdict by a test; of new heat what the log shows counts, where it shows something."""
    verdicts = [one for one in entries if isinstance(one.what, Verdict) and one.what.test == trial]
    latest = verdicts[-1] if verdicts else None
    said = latest.what if latest and isinstance(latest.what, Verdict) else None
    day = bay.site.day_of(latest.at) if latest else None
    if trial is Trial.NO_REHEATING and (by_log := _by_log(entries, rises)) is not None:
        return Shown(trial, by_log, day, said, from_log=True)
    return Shown(trial, _stage(said) if said else None, day, said)


def _stage(said: Verdict) -> Stage | None:
    """The class of what was written down. A bare "not yet" holds back like a young heap; a bare "ready" is no class."""
    if said.look:
        return readiness.LOOKS[said.look]
    if said.smell:
        return readiness.SMELLS[said.smell]
    if said.rise_tenths_k is not None:
        return readiness.flask(said.rise_tenths_k / 10)
    if said.sown and said.control_sown and said.came_up is not None and said.control_up is not None:
        return readiness.germination(said.came_up, said.sown, said.control_up, said.control_sown)
    return Stage.YOUNG if said.ready == "not yet" else None


def _by_log(entries: Sequence[ledger.Entry], rises: Iterable[Rise]) -> Stage | None:
    """What the probe showed after the last turn; None if it shows nothing."""
    turned = [one.at for one in entries if isinstance(one.what, Turn)]
    if not turned:
        return None
    above = [(at, rise) for at, rise in rises if at >= turned[-1]]
    return readiness.reheating(Reheating(turned[-1], _wetted(entries, turned[-1]), above))


def _wetted(entries: Iterable[ledger.Entry], turned_at: datetime) -> bool:
    """Whether water went on at the turn, or a handful was damp then."""
    near = [one.what for one in entries if abs(one.at - turned_at) <= WETTED_WITHIN]
    return any(isinstance(what, Water) or (isinstance(what, Reading) and what.squeeze in DAMP) for what in near)


def _rises(entries: Iterable[ledger.Entry], climate: Climate) -> Iterator[Rise]:
    """Each reading of the heap above the air: as measured beside it, else as it usually is on that day at the site."""
    for entry in entries:
        if isinstance(entry.what, Reading) and entry.what.temp_tenths_c is not None:
            air = entry.what.air_tenths_c
            air_c = climate.on(entry.at.date())[0] if air is None else air / 10
            yield entry.at, entry.what.temp_tenths_c / 10 - air_c


def _rested(rises: Iterable[Rise], now: datetime) -> timedelta | None:
    """The time since the first reading after the last hot one; None if nobody has read it cool."""
    cool_since: datetime | None = None
    for at, rise in rises:
        cool_since = None if rise > NO_NEW_HEAT_K else cool_since or at
    return now - cool_since if cool_since else None
