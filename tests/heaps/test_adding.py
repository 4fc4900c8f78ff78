"""What to add: from the store, kept beside the state, reckoned anew only when something it depends on has changed."""

import json
import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from heaps import gate, history
from heaps.board.board import _row_now
from heaps.board.fitting import turning
from heaps.board.heap_add import add_to
from heaps.foreseeing import forecast_all
from heaps.foretold import foretold_of
from heaps.models import Bay, KeptAdvice, OwnTargets, OwnValue, Site, SiteStore, known_materials
from heaps.science import fewest
from heaps.store import Held, held
from heaps.sums import lies_now

pytestmark = pytest.mark.ledger
WET_GREENS = {"feedstock": "grass-fresh", "half_containers": 40, "container_ml": 10_000}


@pytest.fixture(autouse=True)
def fresh_board() -> None:
    _row_now.cache_clear()


def lies_on_phones(bay: Bay) -> list[int]:
    """The least and the most litres in a bay, as a phone is told."""
    (site,) = gate.ground(timezone.now())["sites"]
    return next(one["lies"] for one in site["bays"] if one["uid"] == str(bay.uid))


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """How often the solver was asked, as the length of a list."""
    asked: list[int] = []
    solve = fewest._whole_numbers

    def counting(*args: Any) -> Any:
        asked.append(1)
        return solve(*args)

    monkeypatch.setattr(fewest, "_whole_numbers", counting)
    return asked


def yesterday(hours: int = 0) -> Any:
    """So many hours after noon of the day before, whatever the hour is now."""
    noon = timezone.now().replace(hour=12, minute=0, second=0, microsecond=0)
    return noon - timedelta(days=1) + timedelta(hours=hours)


def fill_store(keep: Any, halves: int = 16, hours: int = 1, feedstock: str = "leaves-mixed") -> None:
    keep("stocktake", None, yesterday(hours), feedstock=feedstock, half_containers=halves, container_ml=80_000)


def leaves_at(site: Site) -> Held:
    counted = SiteStore.objects.get(site=site).counted
    (leaves,) = held(json.dumps(counted), ((80_000, "barrow"),), known_materials())
    return leaves


def unreckoned(board: str) -> int:
    """How many heaps the board's script will ask about."""
    return len(re.findall('data-to-reckon="[^"]', board))


def page_of(client: Any, bay: Bay) -> str:
    text: str = client.get(reverse("heaps:heap", args=[bay.uid])).content.decode()
    return text


def test_the_heap_s_page_says_what_to_add_from_the_store(client_of, member, site, bay, second_bay, keep) -> None:
    keep("dropoff", bay, yesterday(), **WET_GREENS)
    barrow = site.containers.get(name="barrow")
    keep(
        "dropoff",
        second_bay,
        yesterday(),
        feedstock="cardboard",
        half_containers=2,
        container_ml=80_000,
        container=str(barrow.uid),
    )
    fill_store(keep)
    page = page_of(client_of(member), bay)
    add = page.partition("What to add")[2].partition("</section>")[0]
    assert "barrows of autumn leaves" in add
    assert "That makes C:N" in add
    assert "stand upwind" in add
    assert "8 barrows" in add and "1 day ago" in add


def test_without_a_store_it_says_what_would_do(client_of, member, coordinator, bay, keep) -> None:
    keep("dropoff", bay, yesterday(), **WET_GREENS)
    page = page_of(client_of(member), bay)
    assert "What is in store cannot do it" in page
    assert "From elsewhere" in page


def test_nothing_is_asked_of_an_empty_or_a_hot_heap(client_of, member, bay, second_bay, keep, solved) -> None:
    keep("dropoff", second_bay, yesterday(), **WET_GREENS)
    keep("reading", second_bay, yesterday(1), temp_tenths_c=720, place="core")
    client = client_of(member)
    assert "What to add" not in page_of(client, bay) + page_of(client, second_bay)
    assert not solved


def test_a_board_of_thirty_heaps_solves_nothing_and_its_script_each_but_once(
    client_of, member, site: Site, bay, keep, solved
) -> None:
    bays = [
        Bay.objects.create(site=site, name=f"B{n}", position=9 + n, length_cm=100, width_cm=100, height_cm=100)
        for n in range(30)
    ]
    for number, one in enumerate(bays):
        keep("dropoff", one, yesterday(), **(WET_GREENS | {"half_containers": 20 + number}))
    fill_store(keep)
    client, board, add = client_of(member), reverse("heaps:board"), reverse("heaps:what_to_add")
    first = client.get(board).content.decode()
    assert not solved
    assert unreckoned(first) == 30
    lines = client.get(add).json()
    assert lines.keys() == {str(one.uid) for one in bays}
    once = len(solved)
    assert once >= 30
    second = client.get(board).content.decode()
    assert unreckoned(second) == 0 and second.count("From the store") == 2 * 30  # above the board, and in it
    assert client.get(add).json() == {}
    keep("dropoff", bays[0], yesterday(2), **WET_GREENS)  # of one heap something changed
    assert unreckoned(client.get(board).content.decode()) == 1
    assert len(client.get(add).json()) == 1
    page_of(client, bays[1])
    assert once < len(solved) < once + 10


def test_what_the_store_loses_changes_nothing_as_long_as_there_is_enough(
    client_of, member, bay, second_bay, keep, solved
) -> None:
    keep("dropoff", bay, yesterday(), **WET_GREENS)
    fill_store(keep)
    client = client_of(member)
    before = page_of(client, bay).partition("What to add")[2].partition("<details>")[0]
    asked = len(solved)
    keep("dropoff", second_bay, yesterday(2), feedstock="leaves-mixed", half_containers=2, container_ml=80_000)
    after = page_of(client, bay)
    assert before in after and "7 × 80 litres" in after
    assert len(solved) == asked
    keep("dropoff", second_bay, yesterday(3), feedstock="leaves-mixed", half_containers=14, container_ml=80_000)
    assert "cannot do it" in page_of(client, bay)  # nothing is left: no longer what is kept
    assert len(solved) > asked


@pytest.mark.parametrize("changed", ["more in store", "other targets", "another weight", "a squeeze"])
def test_it_is_reckoned_anew_for_whatever_it_depends_on(client_of, member, bay, keep, solved, changed: str) -> None:
    keep("dropoff", bay, yesterday(), **WET_GREENS)
    fill_store(keep)
    client = client_of(member)
    page_of(client, bay)
    asked, key = len(solved), KeptAdvice.objects.get().key
    if changed == "more in store":
        fill_store(keep, 20, hours=2)
    elif changed == "other targets":
        OwnTargets.objects.create(c_to_n_least=28, c_to_n_most=33, decided_at=timezone.now())
    elif changed == "another weight":
        OwnValue.objects.create(feedstock="leaves-mixed", figure="moisture", number=20, decided_at=timezone.now())
    else:
        keep("reading", bay, yesterday(2), squeeze="crumbles")
    assert unreckoned(client.get(reverse("heaps:board")).content.decode()) == 1
    page_of(client, bay)
    assert len(solved) > asked
    assert (KeptAdvice.objects.get().key == key) == (changed == "more in store")


def test_the_store_follows_its_ledger(keep, site: Site, bay: Bay) -> None:
    late = keep("dropoff", bay, yesterday(3), feedstock="leaves-mixed", half_containers=3, container_ml=80_000)
    fill_store(keep)
    leaves = leaves_at(site)
    assert (leaves.containers, leaves.container, leaves.went_ml) == (6, "barrow", 120_000)
    keep("dropoff", bay, yesterday(0), feedstock="leaves-mixed", half_containers=4, container_ml=80_000)
    assert leaves_at(site).went_ml == 120_000  # it comes late, and was gone when the store was counted
    keep("correction", None, yesterday(4), corrects=late.uid, says="withdraw")
    leaves = leaves_at(site)
    assert (leaves.containers, leaves.went_ml) == (8, 0)
    assert history.drift(site) == []
    SiteStore.objects.update(counted={})
    assert len(history.drift(site)) == 1
    history.rebuild(site)
    assert history.drift(site) == []
    assert leaves_at(site).containers == 8


@pytest.mark.usefixtures("few_and_short")
def test_what_is_still_there_is_reckoned_with_once_a_forecast_knows_it(
    client_of, member, site, bay, keep, solved
) -> None:
    began = timezone.now() - timedelta(days=60)
    keep("dropoff", bay, began, feedstock="grass-fresh", half_containers=40, container_ml=20_000)
    keep("dropoff", bay, began, feedstock="straw-barley", half_containers=10, container_ml=60_000)
    client = client_of(member)
    fresh = page_of(client, bay)
    assert "taken as it went in" in fresh
    before = KeptAdvice.objects.get().key
    list(forecast_all(timezone.now()))
    state = history.current_states([site.pk])[str(bay.uid)]
    ahead = foretold_of(bay.pk, state.batch)
    assert ahead and ahead.still
    recipe, now = (lies_now(state.batch, known_materials(), still) for still in (None, ahead.still))
    assert now.dry_kg < 0.9 * recipe.dry_kg and now.c_to_n == pytest.approx(recipe.c_to_n)
    assert now.moisture_fraction == pytest.approx(ahead.balance.moisture)
    assert now.free_air_space == pytest.approx(ahead.balance.free_air_space, abs=0.002)
    assert sum(now.class_l.values()) == pytest.approx(now.tipped_l)
    _row_now.cache_clear()
    assert unreckoned(client.get(reverse("heaps:board")).content.decode()) == 1, "another heap than it was"
    assert "taken as it is now" in page_of(client, bay)
    assert KeptAdvice.objects.get().key != before
    assert unreckoned(client.get(reverse("heaps:board")).content.decode()) == 0, "the board and the page ask the same"
    asked = len(solved)
    assert client.get(reverse("heaps:what_to_add")).json() == {} and len(solved) == asked
    keep("dropoff", bay, timezone.now() - timedelta(minutes=1), **WET_GREENS)
    assert "taken as it went in: what" in page_of(client, bay), "the forecast does not know of the last load"


@pytest.mark.usefixtures("few_and_short")
def test_nobody_is_asked_for_what_the_next_forecast_may_call_too_much(
    client_of, coordinator, site: Site, bay, second_bay, keep
) -> None:
    keep("dropoff", bay, timezone.now() - timedelta(days=9), **WET_GREENS | {"half_containers": 24})
    client = client_of(coordinator)
    ask, board, script = reverse("heaps:calls", args=[site.uid]), reverse("heaps:board"), reverse("heaps:what_to_add")
    list(forecast_all(timezone.now()))

    def told(of: Bay) -> tuple[bool, bool, bool, bool]:
        """Whether the page says to look again, has a button, its form has words, and the board says what is wanted."""
        page = page_of(client, of)
        assert "What is in store cannot do it" in page
        words = client.get(f"{ask}?heap={of.uid}").context["form"]["words"].value()
        _row_now.cache_clear()
        wanted = "The store cannot do it. Wanted" in client.get(board).content.decode()
        return "Look again in half an hour" in page, f"{ask}?heap=" in page, bool(words), wanted

    assert told(bay) == (False, True, True, True)
    lacking = add_to(bay, *_state_and_forecast(site, bay), timezone.now(), known_materials()).missing
    assert lacking in client.get(f"{ask}?heap={bay.uid}").context["form"]["words"].value(), "what the page says"
    keep("dropoff", bay, timezone.now() - timedelta(minutes=2), feedstock="grass-fresh", half_containers=1,
         container_ml=10_000)  # fmt: skip
    _row_now.cache_clear()
    assert "look again in half an hour" in client.get(script).json()[str(bay.uid)]
    assert told(bay) == (True, False, False, False)
    list(forecast_all(timezone.now()))
    assert told(bay) == (False, True, True, True)
    keep("turn", second_bay, timezone.now() - timedelta(minutes=1), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    assert told(second_bay) == (True, False, False, False), "turned, it is another heap"


def _state_and_forecast(site: Site, bay: Bay) -> tuple[Any, Any]:
    state = history.current_states([site.pk])[str(bay.uid)]
    return state, foretold_of(bay.pk, state.batch)


@pytest.mark.usefixtures("few_and_short")
def test_whether_a_turn_fits_is_told_of_what_is_still_there(bay, second_bay, keep) -> None:
    keep("dropoff", bay, timezone.now() - timedelta(days=60), feedstock="grass-fresh", half_containers=20,
         container_ml=100_000)  # fmt: skip
    (before,) = turning(second_bay, {}).sources
    assert lies_on_phones(bay) == [600, 1000]
    list(forecast_all(timezone.now()))
    (after,) = turning(second_bay, {}).sources
    assert lies_on_phones(bay) == pytest.approx([after.volume_l * 0.75, after.volume_l * 1.25], abs=1)
    assert before.volume_l == pytest.approx(800) and after.volume_l < 600 and not after.marked
    keep("reading", bay, timezone.now() - timedelta(hours=1), fill_per_cent=70)
    (seen,) = turning(second_bay, {}).sources
    assert seen.volume_l == pytest.approx(700) and seen.marked, "a look counts more"
    assert lies_on_phones(bay) == [630, 770] and lies_on_phones(second_bay) == [0, 0]
