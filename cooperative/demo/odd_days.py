"""What every cooperative has: wrong taps, two people who log one load, phones that were away, a bay that is gone."""

from dataclasses import replace
from datetime import timedelta
from uuid import UUID

from cooperative.demo.diary import Diary
from cooperative.demo.estate import bin_of, slot
from cooperative.demo.loads import Load
from cooperative.demo.people import ALLOTMENT, ESTATE, SCHOOL

#: The phone that was away: whose, for how long, and when its letter came, as week, day and time.
AWAY, AWAY_SINCE, AWAY_UNTIL = "plover", (2, 2, "06:00"), (0, 3, "08:00")


def tell(diaries: dict[str, Diary]) -> None:
    """All of it, after the usual weeks have been told."""
    _corrected(diaries[ALLOTMENT], diaries[SCHOOL])
    _for_the_tray(diaries)
    _away(diaries[ESTATE])


def _corrected(allotment: Diary, school: Diary) -> None:
    """Corrections of one's own, and a question that was settled long ago."""
    thirty = allotment.load((6, 0, "10:20"), Load("teasel", "coffee", "bucket", 60), "Long heap")
    three = {**thirty.details, "half_containers": 6}
    allotment.correct(thirty, "instead", kind="dropoff", bay="Long heap", details=three)
    wrong = allotment.load((10, 5, "17:30"), Load("fennel", "peelings", "bucket", 2), "Long heap")
    allotment.correct(wrong, "withdraw")
    one = school.load((8, 0, "10:40"), Load("fern", "windfalls", "bucket", 4), "Bay 1")
    school.load((8, 0, "10:55"), Load("cowslip", "windfalls", "bucket", 4), "Bay 1")
    school.correct(one, "stands", "bryony", after=timedelta(days=9))


def _for_the_tray(diaries: dict[str, Diary]) -> None:
    """One of each thing that a coordinator is asked."""
    school, estate, allotment = diaries[SCHOOL], diaries[ESTATE], diaries[ALLOTMENT]
    school.load((0, 0, "10:40"), Load("pipit", "windfalls", "bucket", 6), "Bay 1")
    school.load((0, 0, "10:52"), Load("bumble", "windfalls", "bucket", 6), "Bay 1")
    drawer = allotment.at(0, 3, "08:00")  # a phone found in a drawer
    allotment.load((11, 0, "11:05"), Load("melilot", "straw-barley", "sack", 4), "Long heap", arrives=drawer)
    estate.load((1, 0, "10:55"), Load("otter", "tea-leaves", "bucket", 2), bin_of(slot(1, 0) + 2))
    estate.say((1, 4, "18:10"), "vole", "turn", bin_of(5), sources=[bin_of(5)])
    gone = str(UUID(int=allotment.chance.getrandbits(128), version=4))  # a bay that the office has taken away
    allotment.load((0, 0, "11:15"), Load("nettle", "grass-fresh", "sack", 2), gone, arrives=allotment.at(0, 2, "08:30"))
    lost = str(UUID(int=allotment.chance.getrandbits(128), version=4))  # was only ever on a phone that fell into a butt
    allotment.say((14, 0, "12:00"), "borage", "correction", None, corrects=lost, says="withdraw")


def _away(estate: Diary) -> None:
    """Two weeks without a signal, a rule of the site not known, and all of it handed in at once."""
    since, until = estate.at(*AWAY_SINCE), estate.at(*AWAY_UNTIL)
    for week, day, clock, load in (
        (2, 2, "06:05", Load(AWAY, "peelings", "bucket", 3)),
        (2, 4, "20:15", Load(AWAY, "tea-bags", "bucket", 1)),
        (2, 6, "06:20", Load(AWAY, "cardboard", "sack", 2)),
        (1, 2, "06:10", Load(AWAY, "peelings", "bucket", 5)),
        (1, 3, "20:30", Load(AWAY, "egg-boxes", "sack", 1)),
        (0, 1, "06:30", Load(AWAY, "fruit", "bucket", 3)),
    ):
        estate.load((week, day, clock), load, bin_of(slot(week, day)))
    estate.said = [
        replace(one, arrives=until) if one.who == AWAY and since <= one.at < until else one for one in estate.said
    ]
