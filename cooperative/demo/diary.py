"""One site's diary: what people there recorded, by week and day, while what lies in its bays is kept in mind."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from cooperative.demo.ground import BAG_LITRES, CONTAINERS, ZONE, Ground
from cooperative.demo.loads import Load, loads_of_a_day, weight_g
from cooperative.demo.lying import ON_THE_SIEVE, Heap
from cooperative.demo.people import who_goes_to

HALF_BAG_L = BAG_LITRES / 2
BAG_ML = BAG_LITRES * 1000
SOON = timedelta(minutes=9)
#: What happens once at a site: week, day and time, who, what, at which bay, what they say.
Once = tuple[int, int, str, str, str, str | None, dict[str, Any]]


@dataclass(frozen=True)
class Said:
    """What one person records at one moment. `arrives` is given where it is not the phone's usual wait."""

    at: datetime
    who: str
    kind: str
    site: str
    bay: str | None
    details: dict[str, Any]
    words: str
    uid: str
    arrives: datetime | None = None


@dataclass
class Diary:
    """A site's diary. Weeks count back from the last Saturday, days on from a week's Saturday."""

    ground: Ground
    now: datetime
    chance: Random
    said: list[Said] = field(default_factory=list)
    heaps: dict[str, Heap] = field(default_factory=dict)
    half_bags: int = 0  # in store

    def __post_init__(self) -> None:
        self.heaps = {bay: Heap(is_leaf=bay in self.ground.cages) for bay in (*self.ground.bays, *self.ground.cages)}
        self.bringers = who_goes_to(self.ground.name)

    def say(self, when: tuple[int, int, str], who: str, kind: str, bay: str | None = None, /, **details: Any) -> Said:
        """Record something on a week, day and time."""
        words, arrives = details.pop("words", ""), details.pop("arrives", None)
        uid = str(UUID(int=self.chance.getrandbits(128), version=4))
        self.said.append(Said(self.at(*when), who, kind, self.ground.name, bay, details, words, uid, arrives))
        return self.said[-1]

    def found(self, bay: str, litres: int, age_days: int, make_up: dict[str, int], who: str, week: int) -> None:
        """What lay in a bay on the first day."""
        parts = [list(part) for part in make_up.items()]
        self.say((week, 0, "09:05"), who, "opening", bay, volume_ml=litres * 1000, age_days=age_days, make_up=parts)
        self.heaps[bay].find(self.day(week, 0) - timedelta(days=age_days), litres)
        self.close(week, bay, who, "09:15")

    def load(self, when: tuple[int, int, str], load: Load, bay: str, **odd: Any) -> Said:
        """A load into a bay."""
        litres, fill_per_cent = CONTAINERS[load.container]
        container_ml = litres * fill_per_cent * 10
        said: dict[str, Any] = {
            "feedstock": load.feedstock, "half_containers": load.halves,
            "container_ml": container_ml, "container": load.container,
        }  # fmt: skip
        if load.weighed:
            said["weighed_g"] = weight_g(load, container_ml, self.chance)
        if heap := self.heaps.get(bay):
            heap.tip(self.day(*when[:2]), load.halves * container_ml / 2000, self.chance, load.feedstock)
        return self.say(when, load.who, "dropoff", bay, **said, **odd)

    def close(self, week: int, bay: str, who: str, clock: str = "12:00") -> None:
        """Nothing more goes in there."""
        self.say((week, 0, clock), who, "close", bay)
        self.heaps[bay].is_closed = True

    def turn(self, week: int, sources: tuple[str, ...], into: str, who: str, clock: str = "12:05") -> None:
        """All of some bays into one, or a bay within itself; nobody turns what is not there."""
        there = [bay for bay in sources if self.heaps[bay].layers]
        if not there:
            return
        self.say((week, 0, clock), who, "turn", into, sources=there)
        for bay in there:
            if bay != into:
                self.heaps[bay].move_into(self.heaps[into])
        self.heaps[into].stir(self.day(week, 0))

    def harvest(self, week: int, bay: str, per_cent: int, who: str, clock: str = "11:20", sieved: bool = True) -> float:
        """Bags out of a bay, as many as it gives. Answers with the litres that stay on the sieve."""
        given_l = self.heaps[bay].take(per_cent)
        bagged_l = given_l * (1 - ON_THE_SIEVE) if sieved else given_l
        half_bags = int(bagged_l // HALF_BAG_L)
        if given_l <= 0:
            return 0.0
        how = {"bag_ml": BAG_ML, "sieved": "sieved" if sieved else "coarse"}
        self.say((week, 0, clock), who, "harvest", bay, half_bags=half_bags, per_cent=per_cent, **how)
        self.half_bags += half_bags
        return given_l - bagged_l

    def correct(self, one: Said, says: str, who: str = "", after: timedelta = SOON, **more: Any) -> None:
        """Take an entry back, put another in its stead, or say that it stands."""
        uid = str(UUID(int=self.chance.getrandbits(128), version=4))
        details = {"corrects": one.uid, "says": says, **more}
        self.said.append(Said(one.at + after, who or one.who, "correction", one.site, None, details, "", uid))

    def loads_of(self, week: int, day: int) -> Iterator[tuple[tuple[int, int, str], Load]]:
        """What comes on one day, with the time."""
        hours = (10, 12) if day == 0 else (8, 19)
        for load in loads_of_a_day(self.ground.name, self.day(week, day), day, self.bringers, self.chance):
            yield (week, day, self.clock(*hours)), load

    def at(self, week: int, day: int, clock: str) -> datetime:
        return datetime.combine(self.day(week, day), time.fromisoformat(clock), ZoneInfo(ZONE)).astimezone(UTC)

    def day(self, week: int, day: int) -> date:
        """So many days after the Saturday that lies so many weeks before the last one."""
        today = self.now.astimezone(ZoneInfo(ZONE)).date()
        last_saturday = today - timedelta(days=(today.weekday() - 5) % 7 or 7)
        return last_saturday - timedelta(weeks=week) + timedelta(days=day)

    def clock(self, first_hour: int, last_hour: int) -> str:
        return f"{self.chance.randrange(first_hour, last_hour):02}:{self.chance.randrange(60):02}"
