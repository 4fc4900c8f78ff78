"""Some nine months on the site, week by week, told as what people record. The same each time but for the dates."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from math import exp
from random import Random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from cooperative.demo.ground import CONTAINERS, ZONE
from cooperative.demo.loads import Load, loads_of_a_day, weight_g
from heaps.science.climate import air_temp_c
from heaps.science.feedstocks import FEEDSTOCKS

WEEKS = 39
SHORT_OF_BROWNS = 2  # weeks in which nobody has brought any: the open heap needs some now


@dataclass(frozen=True)
class Said:
    """What one person records at one moment. `arrives` is given where it is not the phone's usual wait."""

    at: datetime
    who: str
    kind: str
    bay: str | None
    details: dict[str, Any]
    words: str
    uid: str
    arrives: datetime | None = None


@dataclass(frozen=True)
class Stay:
    """A heap's time in one bay, in weeks before now: from its first load, to when it was moved or taken out.

    It is fed until `closed`. `stirred` are the weeks from which it heats anew: closed and turned.
    """

    bay: str
    first: int
    last: int
    closed: int
    stirred: tuple[int, ...] = ()


STAYS = (
    Stay("Bay 5", 39, 28, closed=39),
    Stay("Bay 1", 39, 24, closed=32, stirred=(32, 29)),
    Stay("Bay 2", 32, 24, closed=24, stirred=(24,)),
    Stay("Bay 3", 24, -1, closed=24, stirred=(24, 20, 17)),
    Stay("Bay 1", 24, 12, closed=14, stirred=(14,)),
    Stay("Bay 4", 14, -1, closed=5, stirred=(5, 2)),
    Stay("Bay 2", 12, -1, closed=12, stirred=(12, 9)),
    Stay("Bay 1", 5, -1, closed=-1),
)
TURNS = {  # week: (from, into)
    29: (("Bay 1",), "Bay 1"),
    24: (("Bay 1", "Bay 2"), "Bay 3"),
    20: (("Bay 3",), "Bay 3"),
    17: (("Bay 3",), "Bay 3"),
    12: (("Bay 1",), "Bay 2"),
    9: (("Bay 2",), "Bay 2"),
    2: (("Bay 4",), "Bay 4"),
}
CLOSED = {32: "Bay 1", 24: "Bay 2", 14: "Bay 1", 5: "Bay 4"}
COLLECTIONS = (
    (27, "moss", 4), (26, "sorrel", 3), (4, "yarrow", 4), (3, "teasel", 4), (3, "moss", 3), (2, "sorrel", 2),
    (1, "yarrow", 2),
)  # fmt: skip
#: How far above the air a heap gets after it is closed and after each turn, and how fast that falls; invented, in
#: the range of published heaps (COR-PHYS: 40-60 C when well made, a little less after each turn).
PEAKS_C = (42.0, 34.0, 16.0)
FALLS_IN_DAYS = 16.0


def told(now: datetime) -> list[Said]:
    """Everything that people recorded until `now`."""
    year = _Season(now)
    for week in range(WEEKS, -1, -1):
        year.saturday(week)
        year.weekdays(week)
    year.beginning()
    year.harvests()
    year.mistakes()
    return [one for one in year.said if one.at <= now - timedelta(minutes=10)]


@dataclass
class _Season:
    now: datetime
    chance: Random = field(default_factory=lambda: Random(1847))  # noqa: S311 - nothing secret
    said: list[Said] = field(default_factory=list)

    def beginning(self) -> None:
        """What lay there on the first day."""
        make_up = [["leaves-mixed", 40], ["grass-fresh", 30], ["peelings", 30]]
        details = {"volume_ml": 700_000, "age_days": 260, "make_up": make_up}
        self._say(self._at(WEEKS, 0, "09:05"), "tansy", "opening", "Bay 5", **details)
        self._say(self._at(WEEKS, 0, "09:06"), "tansy", "close", "Bay 5")
        leaves = [["leaves-oak", 60], ["leaves-mixed", 40]]
        details = {"volume_ml": 500_000, "age_days": 150, "make_up": leaves}
        self._say(self._at(WEEKS, 0, "09:10"), "tansy", "opening", "Leaf bin", **details)

    def saturday(self, week: int) -> None:
        """The weekly session: readings first, then loads, then forks."""
        self._readings(week, 0, "09:30", "bryony")
        for load in loads_of_a_day(self._day(week, 0), self.chance, many=True):
            if week <= SHORT_OF_BROWNS and FEEDSTOCKS[load.feedstock].group != "green" and not load.to_leaf_bin:
                continue
            self._load(week, 0, self._clock(10, 12), load)
        if week in CLOSED:
            self._say(self._at(week, 0, "12:00"), "tansy", "close", CLOSED[week])
        if week in TURNS:
            sources, into = TURNS[week]
            self._say(self._at(week, 0, "12:05"), "tansy", "turn", into, sources=list(sources))
            self._say(self._at(week, 0, "12:10"), "tansy", "water", into, volume_ml=20_000)
        hours = {"minutes": self.chance.choice((90, 120, 150)), "people": self.chance.randint(3, 6)}
        self._say(self._at(week, 0, "12:45"), "bryony", "hours", None, **hours)

    def weekdays(self, week: int) -> None:
        """A few come on other days, too."""
        for day in (3, 5):
            for load in loads_of_a_day(self._day(week, day), self.chance, many=False):
                self._load(week, day, self._clock(16, 19), load)
        if self.chance.random() < 0.6:
            self._readings(week, 4, "17:45", "yarrow")

    def harvests(self) -> None:
        """From the verdict to the last bag."""
        self._say(self._at(30, 0, "11:30"), "tansy", "verdict", "Bay 5", test="smell", ready="ready")
        taken = {"bag_ml": 40_000, "sieved": "coarse"}
        self._say(self._at(28, 0, "11:40"), "bryony", "harvest", "Bay 5", half_bags=11, per_cent=100, **taken)
        self._say(self._at(8, 0, "11:30"), "bryony", "verdict", "Bay 3", test="flask", ready="not yet")
        self._say(self._at(5, 0, "11:30"), "bryony", "verdict", "Bay 3", test="no reheating", ready="ready")
        taken = {"bag_ml": 40_000, "sieved": "sieved"}
        self._say(self._at(4, 0, "11:20"), "tansy", "harvest", "Bay 3", half_bags=27, per_cent=40, **taken)
        self._load(4, 0, "11:50", Load("tansy", "screened-oversize", "tub", 4))
        for week, who, half_bags in COLLECTIONS:
            self._say(self._at(week, 0, "12:50"), who, "collection", None, half_bags=half_bags, bag_ml=40_000)

    def mistakes(self) -> None:
        """What every season has: wrong taps, two people who log one load, a phone found in a drawer."""
        self._say(self._at(19, 3, "18:02"), "yarrow", "close", "Bay 1", words="wrong bay, sorry")
        self._say(self._at(19, 3, "18:04"), "yarrow", "reopen", "Bay 1")
        thirty = self._load(6, 0, "10:20", Load("teasel", "coffee", "bucket", 60))
        three = {**thirty.details, "half_containers": 6}
        self._correct(thirty, "instead", kind="dropoff", bay="Bay 4", details=three)
        self._correct(self._load(10, 5, "17:30", Load("moss", "peelings", "bucket", 2)), "withdraw")
        self._say(self._at(12, 3, "18:20"), "moss", "note", None, words="The hose leaks at the tap.")
        drawer = self._at(0, 3, "08:00")
        self._load(11, 0, "11:05", Load("sorrel", "hay", "sack", 4), arrives=drawer)
        self._load(1, 0, "10:55", Load("teasel", "tea-leaves", "bucket", 2), bay="Bay 4")
        self._say(self._at(1, 4, "18:10"), "yarrow", "turn", "Bay 5", sources=["Bay 5"])
        self._load(0, 0, "10:40", Load("yarrow", "peelings", "bucket", 6))
        self._load(0, 0, "10:52", Load("teasel", "peelings", "bucket", 6))
        unknown = str(UUID(int=self.chance.getrandbits(128), version=4))  # a bay that the office has taken away
        self._load(0, 0, "11:15", Load("moss", "grass-fresh", "sack", 2), bay=unknown, arrives=self._at(0, 2, "08:30"))

    def _readings(self, week: int, day: int, clock: str, who: str) -> None:
        at = self._at(week, day, clock)
        for stay in STAYS:
            if not stay.last < week <= stay.first or (week == stay.first and day == 0):
                continue
            said: dict[str, Any] = {
                "temp_tenths_c": round(self._temp_c(stay, self._day(week, day)) * 10), "place": "core", "depth_cm": 50,
            }  # fmt: skip
            if week % 2 == 0 and day == 0:
                usual = self.chance.choices(("crumbles", "holds", "drops"), (2, 5, 1))[0]
                said["squeeze"] = "runs" if week == 0 and stay.closed < 0 else usual  # wet: it needs browns now
            if stay.closed < week and day == 0:
                said["fill_per_cent"] = min(100, 15 + 11 * (stay.first - week))
            self._say(at, who, "reading", stay.bay, **said)
            at += timedelta(minutes=2)

    def _temp_c(self, stay: Stay, day: date) -> float:
        """An invented temperature of the core: above the air by what is left of the last peak."""
        weeks_back = (self._day(0, 0) - day).days / 7
        stirred = [week for week in stay.stirred if week > weeks_back]
        if not stirred:
            above = 6.0 if stay.closed == stay.first else self.chance.uniform(12, 24)
        else:
            days = (stirred[-1] - weeks_back) * 7
            above = PEAKS_C[len(stirred) - 1 if stay.bay != "Bay 2" else len(stirred)] * exp(-days / FALLS_IN_DAYS)
        return air_temp_c(day) + above + self.chance.uniform(-1.5, 1.5)

    def _load(self, week: int, day: int, clock: str, load: Load, **odd: Any) -> Said:
        """A load into the bay that is being fed, or into `bay`; it arrives as usual, or at `arrives`."""
        litres, fill_per_cent = CONTAINERS[load.container]
        container_ml = litres * fill_per_cent * 10
        said: dict[str, Any] = {
            "feedstock": load.feedstock,
            "half_containers": load.halves,
            "container_ml": container_ml,
            "container": load.container,
        }
        if load.weighed:
            said["weighed_g"] = weight_g(load, container_ml, self.chance)
        bay = odd.pop("bay", None) or ("Leaf bin" if load.to_leaf_bin else _fed_in(week, day))
        return self._say(self._at(week, day, clock), load.who, "dropoff", bay, **said, **odd)

    def _correct(self, one: Said, says: str, **instead: Any) -> None:
        at = one.at + timedelta(minutes=9)
        self._say(at, one.who, "correction", None, corrects=one.uid, says=says, **instead)

    def _say(self, at: datetime, who: str, kind: str, bay: str | None, /, **details: Any) -> Said:
        uid = str(UUID(int=self.chance.getrandbits(128), version=4))
        words, arrives = details.pop("words", ""), details.pop("arrives", None)
        self.said.append(Said(at, who, kind, bay, details, words, uid, arrives))
        return self.said[-1]

    def _at(self, week: int, day: int, clock: str) -> datetime:
        return datetime.combine(self._day(week, day), time.fromisoformat(clock), ZoneInfo(ZONE)).astimezone(UTC)

    def _day(self, week: int, day: int) -> date:
        """So many days after the Saturday that lies so many weeks before the last one."""
        today = self.now.astimezone(ZoneInfo(ZONE)).date()
        last_saturday = today - timedelta(days=(today.weekday() - 5) % 7 or 7)
        return last_saturday - timedelta(weeks=week) + timedelta(days=day)

    def _clock(self, first_hour: int, last_hour: int) -> str:
        return f"{self.chance.randrange(first_hour, last_hour):02}:{self.chance.randrange(60):02}"


def _fed_in(week: int, day: int) -> str:
    """The bay that is open. A bay is closed at the end of a Saturday's session."""
    return next(
        stay.bay
        for stay in STAYS
        if stay.closed != stay.first and (stay.closed < week <= stay.first or (week == stay.closed and day == 0))
    )
