"""Before a turn, before nitrogen, before a hot heap: what the pages answer, by figures worked out by hand."""

import re
import time
from datetime import UTC, date, datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from heaps import ledger
from heaps.board.hot import OBSTACLES, TASKS, lines_for, may_be_built, three_weeks
from heaps.board.nitrogen_words import WORDS
from heaps.models import Bay, HotHeap, OwnTargets, targets_here
from heaps.science.hot_heap import THREE_WEEKS, Obstacle
from heaps.science.nitrogen import NITROGEN_SOURCES
from heaps.science.targets import IDEAL

pytestmark = pytest.mark.ledger


def ago(days: float) -> Any:
    return timezone.now() - timedelta(days=days)


def page(client: Any, name: str, bay: Bay, **asked: str) -> str:
    return unescape(client.get(reverse(f"heaps:{name}", args=[bay.uid]), asked).content.decode())


def lay(keep: Any, bay: Bay, feedstock: str, halves: int, days: float = 2) -> None:
    keep("dropoff", bay, ago(days), feedstock=feedstock, half_containers=halves, container_ml=80_000)


def test_a_marked_heap_fits_by_its_mark(client_of, member, bay, second_bay, keep) -> None:
    lay(keep, bay, "straw-wheat", 10)
    keep("reading", bay, ago(1), fill_per_cent=60)
    answer = page(client_of(member), "fit", second_bay, **{str(bay.uid): "100"})
    assert "It fits." in answer
    assert "540 to 660 litres" in answer  # now: 600, a tenth either way
    assert "590 to 820 litres" in answer  # 540 x 1.09 to 660 x 1.25
    assert "Nobody has marked" not in answer


@pytest.mark.parametrize("share, said", [("100", "No: not all"), ("50", "Perhaps"), ("0", None)])
def test_two_heaps_into_one_bay(client_of, member, bay, second_bay, keep, share: str, said: str | None) -> None:
    for one, fill_per_cent in ((bay, 80), (second_bay, 60)):
        lay(keep, one, "straw-wheat", 20)
        keep("reading", one, ago(1), fill_per_cent=fill_per_cent)
    answer = page(client_of(member), "fit", second_bay, **{str(bay.uid): share, str(second_bay.uid): "0"})
    if said:
        assert said in answer and "Keep room for up to" in answer
    else:
        assert "Just after forking" not in answer


def test_a_look_from_before_the_last_load_is_not_trusted(client_of, member, bay, second_bay, keep) -> None:
    lay(keep, bay, "straw-wheat", 2, days=4)
    keep("reading", bay, ago(3), fill_per_cent=10)
    lay(keep, bay, "straw-wheat", 8)
    answer = page(client_of(member), "fit", second_bay, **{str(bay.uid): "100"})
    assert "Nobody has marked" in answer
    assert "240 to 400 litres" in answer  # 400 as tipped is 320 in the heap, a quarter either way


def test_each_source_says_how_much_is_too_much_and_what_to_mind(client_of, member, bay, keep) -> None:
    Bay.objects.update(height_cm=300)  # room enough
    lay(keep, bay, "straw-wheat", 20)
    answer = page(client_of(member), "nitrogen", bay)
    assert answer.count("No more than") >= 8
    grass = answer.partition("Grass clippings</h2>")[2].partition("</section>")[0]
    assert "No more than 800 litres" in grass  # half of 800 litres of straw and as much grass
    urine = answer.partition("Urine")[2].partition("</section>")[0]
    assert "No more than 30 litres" in urine  # 40 to a cubic metre, of 0.64
    assert "Hoof and horn" in answer and "check local rules" in answer
    assert "Lifting." in answer and "Wash your hands with soap" in answer


def test_a_rich_heap_needs_no_nitrogen(client_of, member, bay, keep) -> None:
    lay(keep, bay, "grass-fresh", 4)
    answer = page(client_of(member), "nitrogen", bay)
    assert "It needs no nitrogen" in answer and "would do" not in answer
    assert "With browns to match it: no more than" in answer


def test_no_more_nitrogen_is_named_than_there_is_room_for(client_of, member, bay, keep) -> None:
    lay(keep, bay, "straw-wheat", 20)
    keep("reading", bay, ago(1), fill_per_cent=84)
    dung = page(client_of(member), "nitrogen", bay).partition("Horse manure, straw</h2>")[2].partition("</section>")[0]
    assert "there is no room for that" in dung and "would do" not in dung
    assert "No more than 200 litres" in dung  # 160 litres of room, as tipped a quarter more
    keep("reading", bay, ago(0.5), fill_per_cent=100)
    answer = page(client_of(member), "nitrogen", bay)
    assert "It is full." in answer and "No more than" not in answer


def test_a_little_is_not_told_as_none_and_what_is_poured_comes_in_no_barrow(client_of, member, bay, keep) -> None:
    barrow = str(bay.site.containers.get(name="barrow").uid)
    straw = {"feedstock": "straw-wheat", "half_containers": 20, "container": barrow, "container_ml": 80_000}
    keep("dropoff", bay, ago(2), **straw)
    answer = page(client_of(member), "nitrogen", bay)
    assert "No more than 6 litres" in answer.partition("Human hair</h2>")[2].partition("</section>")[0]  # 10 to 1 m3
    assert "One full barrow is about 34.4 kg" in answer  # coffee: 80 litres
    assert "One full" not in answer.partition("Urine</h2>")[2].partition("</section>")[0]


def test_own_targets_say_how_much_nitrogen_is_enough(client_of, member, bay, keep) -> None:
    lay(keep, bay, "straw-wheat", 20)
    assert "brings it to 40 : 1" in page(client_of(member), "nitrogen", bay)
    own = {"c_to_n_least": 25, "c_to_n_most": 32, "moisture_least": 50, "moisture_most": 60, "air_least": 30}
    OwnTargets.objects.create(decided_at=timezone.now(), **own)
    assert "brings it to 32 : 1" in page(client_of(member), "nitrogen", bay)


def test_every_source_task_and_obstacle_has_words() -> None:
    assert WORDS.keys() == {one.feedstock for one in NITROGEN_SOURCES}
    assert TASKS.keys() == {one.key for one in THREE_WEEKS}
    assert OBSTACLES.keys() == set(Obstacle)


def test_a_hot_heap_of_what_is_there(client_of, member, second_bay) -> None:
    there = {"grass-fresh": "6", "straw-wheat": "8", "horse-manure-straw": "6", "leaves-mixed": "4"}
    client = client_of(member)
    answer = page(client, "hot", second_bay, **there)
    assert "That makes" in answer and "layers, each of" in answer
    assert "What is left over goes on top" in answer
    alone = page(client, "hot", second_bay, cardboard="9")
    assert "Nothing in range comes of this." in alone and "too brown" in alone
    assert 'value="9"' in alone


@pytest.mark.parametrize("typed", ["-3", "nine", "2.5", "1e9", "٣", "100", "99999999999"])
def test_what_is_no_number_of_containers_stays_and_is_asked_about(client_of, member, second_bay, typed: str) -> None:
    answer = page(client_of(member), "hot", second_bay, cardboard=typed, **{"grass-fresh": "6"})
    assert "Cardboard: type a whole number from 0 to 99, like 3." in answer
    assert f'value="{typed}" aria-invalid="true"' in answer and 'value="6"' in answer
    assert "Build it of" not in answer


def test_an_emptied_field_is_none_of_it_whatever_stands_in_store(client_of, member, site, second_bay, keep) -> None:
    keep("stocktake", second_bay, ago(1), feedstock="cardboard", half_containers=8, container_ml=80_000)
    client = client_of(member)
    assert re.search(r'name="cardboard"[^>]* value="4"', page(client, "hot", second_bay))
    assert re.search(r'name="cardboard"[^>]* value=""', page(client, "hot", second_bay, cardboard=""))
    assert "Build it of" not in page(client, "hot", second_bay, cardboard="")


def test_a_field_full_of_everything_is_answered_while_somebody_waits(client_of, member, second_bay) -> None:
    """Without an end the solver goes on for minutes on choices like these; the bound leaves room for a busy machine."""
    there = {one.key: str(71 + 3 * place) for place, one in enumerate(lines_for(second_bay, {})[0])}
    began = time.monotonic()
    answer = page(client_of(member), "hot", second_bay, **there)
    assert "That makes" in answer
    assert time.monotonic() - began < 20


def test_its_checklist_goes_with_the_heap(client_of, steward, member, bay, second_bay, keep) -> None:
    client = client_of(steward)
    assert client.post(reverse("heaps:hot", args=[bay.uid])).status_code == 302
    waits = page(client, "heap", bay)
    assert "Hot heap, day" not in waits  # nothing lies there yet
    assert "The list stands here as soon as a load is recorded" in waits
    for key in ("grass-fresh", "straw-wheat"):
        lay(keep, bay, key, 10, days=0)
    assert "Hot heap, day 0" in page(client_of(member), "heap", bay)
    HotHeap.objects.update(built_on=bay.site.day_of(ago(5)))
    assert "Hot heap, day" not in page(client, "heap", bay)  # what lies there came later
    HotHeap.objects.update(built_on=bay.site.day_of(ago(0)))
    keep("turn", second_bay, ago(0), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    assert "Hot heap, day 0" in page(client, "heap", second_bay)
    assert "Hot heap, day" not in page(client, "heap", bay)


PUT_UP = "We build it today"


def test_a_hot_heap_is_built_where_nothing_lies_that_was_begun_before_today(
    client_of, steward, bay, second_bay, keep
) -> None:
    client, where = client_of(steward), reverse("heaps:hot", args=[bay.uid])
    assert PUT_UP in page(client, "hot", bay)
    lay(keep, bay, "straw-wheat", 10)
    told = page(client, "hot", bay)
    assert PUT_UP not in told and "Something lies in Bay 1." in told
    assert "what lies in Bay 1 was not begun today" in unescape(client.post(where, follow=True).content.decode())
    keep("turn", second_bay, ago(0), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    assert PUT_UP not in page(client, "hot", second_bay)  # turned today, begun before
    lay(keep, bay, "straw-wheat", 10, days=0)
    told = page(client, "hot", bay)
    assert PUT_UP in told and "Something lies in Bay 1." not in told
    assert not HotHeap.objects.exists()
    client.post(where)
    assert "Hot heap, day 0" in page(client, "heap", bay)


def test_today_is_the_site_s_own_day(bay) -> None:
    begun = datetime(2026, 5, 1, 23, 30, tzinfo=UTC)  # 00:30 of the second in London
    lies = ledger.BayState(batch=ledger.Batch(uid="a", bay=str(bay.uid), began=begun))
    assert may_be_built(bay, lies, date(2026, 5, 2))
    assert not may_be_built(bay, lies, date(2026, 5, 1))


def test_a_list_put_up_by_mistake_is_taken_down_again(client_of, steward, member, bay, second_bay, keep) -> None:
    client = client_of(steward)
    lay(keep, bay, "straw-wheat", 10, days=4)
    wrong = HotHeap.objects.create(bay=bay, built_on=bay.site.day_of(ago(3)))
    keep("turn", second_bay, ago(2), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    assert "Take this list down" in page(client, "heap", second_bay)
    told = page(client_of(member), "heap", second_bay)
    assert "Hot heap, day 3" in told and "Take this list down" not in told
    down = {"says": "down", "which": str(wrong.pk)}
    assert client_of(member).post(reverse("heaps:hot", args=[second_bay.uid]), down).status_code == 403
    client.post(reverse("heaps:hot", args=[bay.uid]), down)
    assert HotHeap.objects.exists()  # the heap lies there no longer
    older = HotHeap.objects.create(bay=bay, built_on=bay.site.day_of(ago(4)))
    for _press in range(2):
        answer = client.post(reverse("heaps:hot", args=[second_bay.uid]), down, follow=True)
    assert list(HotHeap.objects.all()) == [older]
    older.delete()
    assert "Hot heap, day" not in page(client, "heap", second_bay)
    assert "Hot heap, day 4" in answer.content.decode()


def test_a_list_that_waits_for_its_first_load_is_taken_down_where_it_was_put_up(client_of, steward, bay) -> None:
    client, where = client_of(steward), reverse("heaps:hot", args=[bay.uid])
    client.post(where)
    told = page(client, "hot", bay)
    assert "This list is put up for Bay 1" in told and PUT_UP not in told
    answer = client.post(where, {"says": "down", "which": str(HotHeap.objects.get().pk)}, follow=True)
    assert "The list of the hot heap is taken down. All that was recorded stays." in answer.content.decode()
    assert not HotHeap.objects.exists()
    assert PUT_UP in page(client, "hot", bay)


def test_what_is_due_on_each_day_of_three_weeks() -> None:
    built = date(2026, 5, 1)
    for day in range(22):
        told = three_weeks(built, built + timedelta(days=day))
        assert len(told.now) + len(told.later) + len(told.before) == len(THREE_WEEKS)
        assert told.now or day == 22
        assert [first for first, _says in told.later] == sorted(first for first, _says in told.later)
    assert str(TASKS["40 C by now"]) in three_weeks(built, built + timedelta(days=3)).now
    assert str(TASKS["40 C by now"]) in three_weeks(built, built + timedelta(days=4)).before


def test_own_targets_hold_and_are_taken_back(client_of, coordinator) -> None:
    client, where = client_of(coordinator), reverse("heaps:targets")
    own = {"c_to_n_least": "28", "c_to_n_most": "35", "moisture_least": "45", "moisture_most": "55", "air_least": "35"}
    assert client.post(where, own).status_code == 302
    here = targets_here()
    assert (here.c_to_n, here.moisture, here.least_air) == ((28, 35), (0.45, 0.55), 0.35)
    shown = unescape(client.get(where).content.decode())
    assert "28–35 : 1" in shown and "25–40 : 1" in shown  # the published one beside it
    client.post(where, {"says": "published"})
    assert targets_here() == IDEAL
    assert OwnTargets.objects.count() == 2


@pytest.mark.parametrize(
    "wrong", [{"c_to_n_least": "10"}, {"c_to_n_most": "60"}, {"c_to_n_least": "38"}, {"moisture_most": "80"}]
)
def test_targets_stay_within_what_is_left_alone(client_of, coordinator, wrong: dict[str, str]) -> None:
    typed = {
        "c_to_n_least": "25",
        "c_to_n_most": "40",
        "moisture_least": "50",
        "moisture_most": "60",
        "air_least": "30",
    }
    answer = client_of(coordinator).post(reverse("heaps:targets"), typed | wrong)
    assert answer.status_code == 200 and 'role="alert"' in answer.content.decode()
    assert f'value="{next(iter(wrong.values()))}"' in answer.content.decode()
    assert not OwnTargets.objects.exists()
