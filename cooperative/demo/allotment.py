"""The allotments: one long heap that is fed, turned and dug from all year, and wire cages for leaves."""

from cooperative.demo import weeks
from cooperative.demo.diary import Diary, Once
from cooperative.demo.loads import Load

HEAP = "Long heap"
TURNED_IN = (3, 4, 5, 6, 7, 8, 9, 10)  # months; on their first Saturday
DUG_IN = (4, 10)  # the far end is ready before planting and after the harvest
DUG_PER_CENT = 45
WATERED_IN = (5, 6, 7, 8)
COVERED_IN, UNCOVERED_IN = 11, 3
LEAVES_FROM, LEAVES_UNTIL, CAGE_EMPTIED_IN = 10, 12, 9  # two autumns later: oak takes two years (RHS-LM)
TUB = ("dock", "couch", "bindweed", "dandelion")
SOAKS_WEEKS = 6

BARROWFUL = {"half_containers": 2, "container_ml": 60_000}

ONCE: tuple[Once, ...] = (
    (114, 4, "18:00", "sorrel", "session", None, {"sort": "work day", "people": 11, "minutes": 180}),
    (101, 0, "11:30", "yarrow", "incident", None, {"what": "hot heap"}),
    (76, 0, "14:00", "bryony", "session", None, {"sort": "open day", "people": 63, "minutes": 180}),
    (64, 0, "12:05", "teasel", "incident", None, {"what": "near miss"}),
    (50, 4, "17:30", "lovage", "note", None, {"words": "The gate's lock sticks. A drop of oil helped."}),
    (24, 0, "14:00", "bryony", "session", None, {"sort": "open day", "people": 58, "minutes": 180}),
    (12, 3, "18:20", "teasel", "note", None, {"words": "The far end steams in the morning."}),
    (13, 0, "11:50", "vetch", "soak", None, {"way": "in", "weed": "couch", **BARROWFUL}),
    (2, 0, "11:50", "vetch", "soak", None, {"way": "in", "weed": "bindweed", **BARROWFUL}),
    (7, 4, "17:00", "campion", "incident", None, {"what": "spill"}),
)


def first_day(diary: Diary, week: int) -> None:
    """What lay there when they began to write it down."""
    mixed = {"weeds-soft": 40, "grass-fresh": 20, "horse-manure-straw": 20, "cardboard": 20}
    day = diary.day(week, 0)
    diary.found(HEAP, 3_000, 200, mixed, "tansy", week)
    diary.heaps[HEAP].is_closed = False
    diary.say((week, 0, "09:20"), "tansy", "reopen", HEAP)
    autumn = day.year - 1
    leaves = {"leaves-oak": 60, "leaves-quick": 40}
    diary.found(_cage(autumn), 900, (day - day.replace(year=autumn, month=11, day=20)).days, leaves, "tansy", week)


def saturday(diary: Diary, week: int) -> None:
    """Looks, loads, and what the month brings."""
    day = diary.day(week, 0)
    first, third = day.day <= 7, 14 < day.day <= 21
    weeks.look_at(diary, week, [HEAP, *(diary.ground.cages if week % 12 == 4 else ())], "sorrel")
    _loads(diary, week, 0)
    if first and day.month in TURNED_IN:
        diary.turn(week, (HEAP,), HEAP, "yarrow")
    if day.month in WATERED_IN and week % 2:
        diary.say((week, 0, "12:20"), "teasel", "water", HEAP, volume_ml=diary.chance.choice((60, 80, 120)) * 1000)
    if first and day.month in (COVERED_IN, UNCOVERED_IN):
        diary.say((week, 0, "12:35"), "teasel", "cover", HEAP, way="on" if day.month == COVERED_IN else "off")
    if third and day.month in DUG_IN:
        diary.say((week, 0, "11:10"), "bryony", "verdict", HEAP, test="look", ready="ready", look="crumbly")
        _back_from_the_sieve(diary, week, diary.harvest(week, HEAP, DUG_PER_CENT, "yarrow"))
    if third and day.month == CAGE_EMPTIED_IN:
        _empty_a_cage(diary, week, _cage(day.year - 2))
    if third and day.month == LEAVES_UNTIL:
        diary.close(week, _cage(day.year), "sorrel")
    _soak(diary, week)
    weeks.hours(diary, week, "sorrel", (3, 7))


def weekday(diary: Diary, week: int, day: int) -> None:
    """Some come on Wednesdays, too."""
    _loads(diary, week, day)


def _loads(diary: Diary, week: int, day: int) -> None:
    for when, load in diary.loads_of(week, day):
        cage = _cage(diary.day(week, day).year)
        if load.to_cage:
            if not diary.heaps[cage].is_closed:
                diary.load(when, load, cage)
        else:
            diary.load(when, load, HEAP)


def _cage(autumn: int) -> str:
    """Which cage takes the leaves of that year's autumn."""
    return f"Leaf cage {autumn % 3 + 1}"


def _empty_a_cage(diary: Diary, week: int, cage: str) -> None:
    if diary.heaps[cage].layers:
        diary.say((week, 0, "11:30"), "bryony", "verdict", cage, test="look", ready="ready", look="earthy")
        diary.harvest(week, cage, 100, "bryony", "11:40", sieved=False)


def _back_from_the_sieve(diary: Diary, week: int, oversize_l: float) -> None:
    while (halves := min(int(oversize_l // 40), 12)) > 0:
        diary.load((week, 0, "12:00"), Load("yarrow", "screened-oversize", "barrow", halves), HEAP)
        oversize_l -= halves * 40


def _soak(diary: Diary, week: int) -> None:
    """Roots that grow again go into the tub, and six weeks later out of it."""
    if diary.day(week, 0).month in (4, 5, 6, 7, 8, 9) and week % SOAKS_WEEKS == 3:
        weed = TUB[week // SOAKS_WEEKS % len(TUB)]
        roots = {"weed": weed, "half_containers": diary.chance.randint(1, 4), "container_ml": 30_000}
        diary.say((week, 0, "11:45"), "vetch", "soak", None, way="in", **roots)
        if week >= SOAKS_WEEKS:
            diary.say((week - SOAKS_WEEKS, 0, "11:40"), "vetch", "soak", None, way="out", **roots)
