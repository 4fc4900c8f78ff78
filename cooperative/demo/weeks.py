"""What every site does week by week: looks, loads, hours, bags fetched and spread, loads turned away."""

from typing import Any

from cooperative.demo.diary import BAG_ML, HALF_BAG_L, Diary
from cooperative.demo.loads import is_busy
from cooperative.demo.people import ALLOTMENT, ESTATE, SCHOOL
from heaps.science.feedstocks import wet_g

#: What was turned away at the gate, one after another: what, why, in half containers of a bucket.
TURNED_AWAY = (
    ("cooked-food", "never goes in", 2), ("bread", "never goes in", 1), ("hay", "may carry weedkiller", 8),
    ("compostable-plastic", "glass or plastic in it", 2), ("tomato-plants", "seed or disease", 6),
    ("grass-packed", "too wet or rotten", 12), ("grass-fresh", "too much of it", 20), ("dog-cat", "never goes in", 1),
    ("treated-wood", "never goes in", 4), ("hedge-evergreen", "no room", 12),
)  # fmt: skip
REFUSED_EVERY, STOCKTAKE_EVERY, WEIGHED_EVERY = 6, 13, 19  # weeks
#: What the shed of each site holds by its last count, in half sacks; the estate is short of browns.
SHEDS = {
    SCHOOL: {"leaves-mixed": 12, "cardboard": 7, "wood-chip-leafy": 8},
    ESTATE: {"cardboard": 2, "wood-chip-leafy": 3},
    ALLOTMENT: {"leaves-mixed": 30, "straw-wheat": 16, "wood-chip-leafy": 24, "cardboard": 10},
}
SPREAD_IN = (3, 4, 5, 10, 11)  # months in which beds are mulched (common practice)
SPREAD_MM = 40  # beds with plants in them: 30 to 75 mm (common practice)
PATIENCE = 40  # half bags in store, for each of which one more comes to fetch some
FULL_BUCKET_ML, EMPTY_BUCKET_G = 9_000, 450
SQUEEZES = ("crumbles", *("holds",) * 7, "drops", "drops")


def look_at(diary: Diary, week: int, bays: list[str], who: str, wet_now: bool = False) -> None:
    """Temperatures, and every other week the squeeze test and the fill level. An empty bay is passed by.

    With `wet_now` the first of `bays` runs with water today.
    """
    today = diary.day(week, 0)
    for place, bay in enumerate(bay for bay in bays if diary.heaps[bay].layers):
        heap = diary.heaps[bay]
        said: dict[str, Any] = {"temp_tenths_c": round(heap.temp_c(today, diary.chance) * 10), "place": "core"}
        said["depth_cm"] = 50
        if week % 2 == 0:
            usual = diary.chance.choice(SQUEEZES)
            said["squeeze"] = "runs" if wet_now and week == 0 and place == 0 else usual
        if week % (4 if heap.is_closed else 2) == 0:
            said["fill_per_cent"] = _fill_per_cent(diary, bay, week)
        diary.say((week, 0, f"09:{30 + 2 * place:02}"), who, "reading", bay, **said)


def _fill_per_cent(diary: Diary, bay: str, week: int) -> int:
    """As somebody judges it: to the next five."""
    share = diary.heaps[bay].sunk_l(diary.day(week, 0)) / diary.ground.litres_of(bay)
    return min(100, max(5, 5 * round(20 * share)))


def hours(diary: Diary, week: int, who: str, people: tuple[int, int]) -> None:
    """The hours of a Saturday, or nobody came."""
    if is_busy(diary.ground.name, diary.day(week, 0)) or week % 3 == 0:
        given = {"minutes": diary.chance.choice((60, 90, 120, 150)), "people": diary.chance.randint(*people)}
        diary.say((week, 0, "12:45"), who, "hours", None, **given)


def bags_go(diary: Diary, week: int, who: str) -> None:
    """Bags in store are fetched, a few a week, and some are spread at the site itself."""
    month = diary.day(week, 0).month
    if month in SPREAD_IN and diary.half_bags > 12 and diary.chance.random() < 0.35:
        half_bags = min(diary.half_bags, diary.chance.randint(6, 16))
        diary.half_bags -= half_bags
        tenths_m2 = round(half_bags * HALF_BAG_L / SPREAD_MM * 10)  # a litre is a square metre a millimetre deep
        how = {"tenths_m2": tenths_m2, "depth_mm": SPREAD_MM, "half_bags": half_bags, "bag_ml": BAG_ML}
        diary.say((week, 0, "12:30"), who, "spread", None, **how)
    for minute in range(min(9, 2 + diary.half_bags // PATIENCE)):
        half_bags = min(diary.half_bags, diary.chance.choice((2, 2, 4, 4, 6)))
        if half_bags and diary.chance.random() < 0.7:
            diary.half_bags -= half_bags
            who_comes = diary.chance.choice(diary.bringers)
            diary.say((week, 0, f"12:{50 + minute}"), who_comes, "collection", None, half_bags=half_bags, bag_ml=BAG_ML)


def at_the_gate(diary: Diary, week: int, who: str, offset: int) -> None:
    """Now and then a load is turned away, a bucket is put on the scale, and what stands in store is counted."""
    if (week + offset) % REFUSED_EVERY == 0:
        feedstock, why, halves = TURNED_AWAY[(week // REFUSED_EVERY + offset) % len(TURNED_AWAY)]
        away = {"feedstock": feedstock, "why": why, "half_containers": halves, "container_ml": FULL_BUCKET_ML}
        diary.say((week, 0, "11:15"), who, "refused_load", None, **away)
    if (week + offset) % STOCKTAKE_EVERY == 0:
        bags = {"half_containers": diary.half_bags, "container_ml": BAG_ML}
        diary.say((week, 0, "13:20"), who, "stocktake", None, **bags)
        straw = {"feedstock": "straw-wheat", "half_containers": diary.chance.randint(2, 12), "container_ml": 54_000}
        diary.say((week, 0, "13:22"), who, "stocktake", None, **straw)
    if week == 0:
        for minute, (feedstock, halves) in enumerate(SHEDS[diary.ground.name].items(), 24):
            stands = {"feedstock": feedstock, "half_containers": halves, "container_ml": 54_000}
            diary.say((week, 0, f"13:{minute}"), who, "stocktake", None, **stands)
    if (week + offset) % WEIGHED_EVERY == 0:
        feedstock = ("peelings", "coffee", "fruit")[week % 3]
        full_g = EMPTY_BUCKET_G + round(wet_g(feedstock, FULL_BUCKET_ML) * diary.chance.uniform(0.85, 1.2) / 50) * 50
        scale = {"container": "bucket", "container_ml": FULL_BUCKET_ML, "full_g": full_g, "empty_g": EMPTY_BUCKET_G}
        diary.say((week, 0, "10:50"), who, "weighing", None, feedstock=feedstock, **scale)
