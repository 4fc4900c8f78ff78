"""Two years and some weeks at three sites, told as what people record. The same each time but for the dates."""

from datetime import datetime, timedelta
from random import Random

from cooperative.demo import allotment, estate, odd_days, school, weeks
from cooperative.demo.diary import Diary, Said
from cooperative.demo.ground import GROUNDS, MONTHS_INTO_YEAR
from cooperative.demo.people import ALLOTMENT, ESTATE, SCHOOL

WEEKS = 106 + round((MONTHS_INTO_YEAR + 1) * 4.35)  # two whole years of the cooperative, and the one that runs
SITES = ((SCHOOL, school, "clover"), (ESTATE, estate, "moss"), (ALLOTMENT, allotment, "sorrel"))


def told(now: datetime) -> list[Said]:
    """Everything that people recorded until `now`."""
    diaries = {}
    for place, (ground, (name, site, keeper)) in enumerate(zip(GROUNDS, SITES, strict=True)):
        diary = diaries[name] = Diary(ground, now, Random(1847 + place))  # noqa: S311 - nothing secret
        site.first_day(diary, WEEKS)
        for week in range(WEEKS, -1, -1):
            site.saturday(diary, week)
            weeks.at_the_gate(diary, week, keeper, place)
            weeks.bags_go(diary, week, keeper)
            for day in range(1, 7):
                site.weekday(diary, week, day)
        for week, day, clock, who, kind, bay, said in site.ONCE:
            diary.say((week, day, clock), who, kind, bay, **said)
    odd_days.tell(diaries)
    said = [one for diary in diaries.values() for one in diary.said]
    return sorted((one for one in said if one.at <= now - timedelta(minutes=10)), key=lambda one: (one.at, one.uid))
