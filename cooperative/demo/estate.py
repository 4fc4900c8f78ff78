"""The estate: six lidded bins behind the bike shed, fed one after another and left to stand."""

from cooperative.demo import weeks
from cooperative.demo.diary import Diary, Once
from cooperative.demo.loads import Load
from heaps.science.feedstocks import FEEDSTOCKS

BINS = 6
FED_FOR, LAST = 7, 4  # weeks that one bin is fed, and how long ago the last one was closed
FORKED_AFTER = (0, 4, 9)  # weeks after it was closed, as all that follows
NOT_YET_AFTER, READY_AFTER, FIRST_BAGS_AFTER, LAST_BAGS_AFTER = 19, 24, 26, 28
TWO_INTO_ONE = 53  # the week in which two bins that had sunk far were put together
SHORT_OF_BROWNS = 3  # weeks in which nobody has brought any: the bin needs some now
SMELLS = {"not yet": "fresh", "ready": "woodland"}
ANTS = 3  # weeks ago: the bin that was closed last was dry, and was watered and turned a week later
SPOILT = 38  # the week in which one was tipped out

ONCE: tuple[Once, ...] = (
    (115, 3, "18:00", "moss", "session", None, {"sort": "talk", "people": 31, "minutes": 75}),
    (88, 1, "09:10", "moss", "incident", None, {"what": "rats"}),
    (62, 0, "14:00", "moss", "session", None, {"sort": "workshop", "people": 12, "minutes": 120}),
    (39, 4, "17:30", "siskin", "incident", None, {"what": "sharps", "words": "Broken glass, half way down."}),
    (26, 3, "18:00", "moss", "session", None, {"sort": "talk", "people": 22, "minutes": 60}),
    (16, 2, "17:40", "linnet", "incident", None, {"what": "smell"}),
    (10, 5, "18:20", "moss", "note", None, {"words": "The hinge of one lid is broken. I have ordered one."}),
)


def first_day(diary: Diary, week: int) -> None:
    """What lay there when they began to write it down."""
    mixed = {"peelings": 50, "cardboard": 30, "grass-fresh": 20}
    diary.found(bin_of(slot(week, 0) + 2), 500, 90, mixed, "moss", week)
    diary.found(bin_of(slot(week, 0) + 3), 450, 140, mixed, "moss", week)


def saturday(diary: Diary, week: int) -> None:
    """Looks at what was closed late, loads, and the work on the bins whose turn it is."""
    at = slot(week, 0)
    looked_at = [bin_of(at + back) for back in range(2 if week % 2 else 4)]
    weeks.look_at(diary, week, looked_at, "moss", wet_now=True)
    _loads(diary, week, 0)
    if (week - LAST) % FED_FOR == 0:
        diary.close(week, bin_of(at), "moss")
    for back in range(BINS):
        _work(diary, week, bin_of(at + back), _closed_ago(week, at + back))
    if week == TWO_INTO_ONE:
        diary.turn(week, (bin_of(at + 2), bin_of(at + 3)), bin_of(at + 3), "moss", "12:25")
    if week == ANTS:
        diary.say((week, 0, "09:50"), "moss", "reading", bin_of(at + 1), signs=["ants", "dusty"])
    if week == ANTS - 1:
        treated = {"sign": "ants", "says": "done", "did": "turn and water in layers"}
        diary.say((week, 0, "10:10"), "linnet", "sign", bin_of(at + 1), **treated)
        diary.say((week, 0, "10:12"), "linnet", "sign", bin_of(at + 1), sign="dry", says="gone")
    if week == SPOILT:
        _tip_out(diary, week, bin_of(at + 4))
    weeks.hours(diary, week, "moss", (1, 4))


def weekday(diary: Diary, week: int, day: int) -> None:
    """Households come every day; the lid is closed again."""
    _loads(diary, week, day)
    dry = bin_of(slot(week, day) + 1)
    if day == 4 and week % 5 == 0 and diary.heaps[dry].layers:
        diary.say((week, day, "18:30"), "siskin", "cover", dry, way="off")
        diary.say((week, day, "18:40"), "siskin", "water", dry, volume_ml=10_000)
        diary.say((week, day, "18:42"), "siskin", "cover", dry, way="on")


def _loads(diary: Diary, week: int, day: int) -> None:
    for when, load in diary.loads_of(week, day):
        if week > SHORT_OF_BROWNS or FEEDSTOCKS[load.feedstock].group == "green":
            diary.load(when, load, bin_of(slot(week, day)))


def slot(week: int, day: int) -> int:
    """How many bins back from the one that is fed today; the next one is fed from a Saturday's noon on."""
    days_back = 7 * week - day
    return (days_back - 7 * LAST) // (7 * FED_FOR) + 1


def bin_of(back: int) -> str:
    return f"Bin {(BINS - 2 - back) % BINS + 1}"


def _closed_ago(week: int, back: int) -> int:
    """How many weeks before `week` the bin of that slot was closed; negative while it is fed."""
    return LAST + FED_FOR * (back - 1) - week


def _work(diary: Diary, week: int, name: str, ago: int) -> None:
    if not diary.heaps[name].layers:
        return
    if ago in FORKED_AFTER:
        diary.turn(week, (name,), name, "moss")
    if ago in (NOT_YET_AFTER, READY_AFTER):
        answer = "ready" if ago == READY_AFTER else "not yet"
        diary.say((week, 0, "11:10"), "moss", "verdict", name, test="smell", ready=answer, smell=SMELLS[answer])
    if ago in (FIRST_BAGS_AFTER, LAST_BAGS_AFTER):
        oversize_l = diary.harvest(week, name, 50 if ago == FIRST_BAGS_AFTER else 100, "moss")
        if halves := int(oversize_l // 40):
            diary.load((week, 0, "12:20"), Load("moss", "screened-oversize", "barrow", halves), bin_of(slot(week, 1)))


def _tip_out(diary: Diary, week: int, name: str) -> None:
    """Broken glass all through it: nothing of it is sieved."""
    diary.heaps[name].take(100)
    diary.say((week, 0, "12:30"), "moss", "tip_out", name, words="Glass all through it. It went to the tip.")
