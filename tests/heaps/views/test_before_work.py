"""Before a turn, before nitrogen, before a hot heap: what the pages answer, by figures worked out by hand."""

import time
from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from heaps.board.hot import OBSTACLES, TASKS, lines_for, three_weeks
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
    assert "It needs no nitrogen" in page(client_of(member), "nitrogen", bay)


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


@pytest.mark.parametrize("typed", ["", "-3", "nine", "1e9", "٣", "99999999999"])
def test_whatever_is_typed_is_answered(client_of, member, second_bay, typed: str) -> None:
    assert "What is there?" in page(client_of(member), "hot", second_bay, cardboard=typed)


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
    assert "Hot heap, day" not in page(client, "heap", bay)  # nothing lies there yet
    for key in ("grass-fresh", "straw-wheat"):
        lay(keep, bay, key, 10, days=0)
    assert "Hot heap, day 0" in page(client_of(member), "heap", bay)
    HotHeap.objects.update(built_on=bay.site.day_of(ago(5)))
    assert "Hot heap, day" not in page(client, "heap", bay)  # what lies there came later
    HotHeap.objects.update(built_on=bay.site.day_of(ago(0)))
    keep("turn", second_bay, ago(0), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    assert "Hot heap, day 0" in page(client, "heap", second_bay)
    assert "Hot heap, day" not in page(client, "heap", bay)


def test_what_is_due_on_each_day_of_three_weeks() -> None:
    built = date(2026, 5, 1)
    for day in range(22):
        told = three_weeks(built, built + timedelta(days=day))
        assert len(told.now) + len(told.later) + len(told.before) == len(THREE_WEEKS)
        assert told.now or day == 22
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
