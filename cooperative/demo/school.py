"""The school: four slatted bays in a row. Bay 1 is fed; every ten weeks each heap is turned one bay on."""

from cooperative.demo import weeks
from cooperative.demo.diary import Diary, Once
from cooperative.demo.loads import Load, is_busy

ROW = ("Bay 1", "Bay 2", "Bay 3", "Bay 4")
EVERY, LAST = 10, 5  # weeks between two turns along the row, and how long ago the last one was
FORKED_AFTER = 3  # weeks after a heap has come into Bay 2
DRY_MONTHS = (5, 6, 7, 8, 9)
CRESS = {"sown": 20, "came_up": 13, "control_sown": 20, "control_up": 18}
VERDICT_AFTER, FIRST_BAGS_AFTER, LAST_BAGS_AFTER = 4, 4, 8  # weeks in Bay 4

ONCE: tuple[Once, ...] = (
    (112, 0, "11:00", "bryony", "session", None, {"sort": "open day", "people": 46, "minutes": 120}),
    (98, 5, "10:30", "tansy", "session", None, {"sort": "school visit", "people": 27, "minutes": 60}),
    (71, 3, "10:30", "clover", "session", None, {"sort": "workshop", "people": 14, "minutes": 90}),
    (60, 0, "11:40", "clover", "incident", None, {"what": "near miss"}),
    (46, 5, "10:30", "tansy", "session", None, {"sort": "school visit", "people": 29, "minutes": 60}),
    (33, 2, "13:05", "clover", "close", "Bay 1", {"words": "wrong bay, sorry"}),
    (33, 2, "13:07", "clover", "reopen", "Bay 1", {}),
    (9, 5, "10:30", "clover", "session", None, {"sort": "school visit", "people": 24, "minutes": 45}),
    (2, 3, "13:12", "clover", "reading", "Bay 1", {"signs": ["flies"]}),
    (2, 3, "13:20", "clover", "sign", "Bay 1", {"sign": "fruit-flies", "says": "done", "did": "bury the peelings"}),
    (8, 4, "13:10", "clover", "note", None, {"words": "The hose leaks at the tap."}),
    (3, 0, "12:20", "clover", "incident", None, {"what": "injury"}),
)


def first_day(diary: Diary, week: int) -> None:
    """What lay there when they began to write it down."""
    mixed = {"peelings": 40, "leaves-mixed": 30, "cardboard": 30}
    diary.found("Bay 2", 900, 110, mixed, "tansy", week)
    diary.found("Bay 3", 700, 200, mixed, "tansy", week)


def saturday(diary: Diary, week: int) -> None:
    """Looks first, then loads, then forks."""
    turned_ago = (LAST - week) % EVERY
    if is_busy(diary.ground.name, diary.day(week, 0)) or week % 3 == 0:
        weeks.look_at(diary, week, ["Bay 1", "Bay 2"] + ["Bay 3", "Bay 4"] * (week % 4 == 0), "clover")
    for when, load in diary.loads_of(week, 0):
        diary.load(when, load, "Bay 1")
    if turned_ago == 0:
        _along_the_row(diary, week)
    if turned_ago == FORKED_AFTER:
        diary.turn(week, ("Bay 2",), "Bay 2", "tansy")
        _water(diary, week, "12:15")
    if turned_ago == VERDICT_AFTER - 2 and diary.heaps["Bay 4"].layers:
        diary.say((week, 0, "11:20"), "clover", "verdict", "Bay 4", test="cress", ready="not yet", **CRESS)
    if turned_ago == VERDICT_AFTER and diary.heaps["Bay 4"].layers:
        diary.say((week, 0, "11:04"), "tansy", "verdict", "Bay 4", test="look", ready="ready", look="crumbly")
        diary.say((week, 0, "11:06"), "clover", "verdict", "Bay 4", test="smell", ready="ready", smell="woodland")
        diary.say((week, 0, "11:08"), "clover", "verdict", "Bay 4", test="flask", ready="ready", rise_tenths_k=85)
        diary.say((week, 0, "11:10"), "tansy", "verdict", "Bay 4", test="no reheating", ready="ready")
        _bags(diary, week, 40)
    if turned_ago == LAST_BAGS_AFTER:
        _bags(diary, week, 100)
    weeks.hours(diary, week, "clover", (2, 5))


def weekday(diary: Diary, week: int, day: int) -> None:
    """The kitchen's buckets and what the classes bring."""
    for when, load in diary.loads_of(week, day):
        diary.load(when, load, "Bay 1")


def _along_the_row(diary: Diary, week: int) -> None:
    """From the gate's far end on, so that each heap finds the next bay empty."""
    diary.close(week, "Bay 1", "tansy")
    for place, (bay, following) in enumerate(((ROW[2], ROW[3]), (ROW[1], ROW[2]), (ROW[0], ROW[1]))):
        diary.turn(week, (bay,), following, "tansy", f"12:{5 + 10 * place:02}")
    _water(diary, week, "12:40")
    diary.say((week, 0, "12:42"), "clover", "cover", "Bay 2", way="on")


def _water(diary: Diary, week: int, clock: str) -> None:
    """In the dry months only: kitchen scraps bring water enough."""
    if diary.day(week, 0).month in DRY_MONTHS:
        diary.say((week, 0, clock), "clover", "water", "Bay 2", volume_ml=30_000)


def _bags(diary: Diary, week: int, per_cent: int) -> None:
    """Sieved, and what stays on the sieve goes back to the start of the row."""
    oversize_l = diary.harvest(week, "Bay 4", per_cent, "tansy")
    if halves := int(oversize_l // 40):
        diary.load((week, 0, "11:50"), Load("tansy", "screened-oversize", "barrow", halves), "Bay 1")
