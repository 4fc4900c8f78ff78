"""Forecasts beside the ledger: made outside of requests, of what was touched, honest about what they miss."""

import io
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.core.management import call_command

from heaps import history
from heaps.foreseeing import forecast_all, open_heaps, past
from heaps.foretold import Foretold, foretold_of
from heaps.lessons import learnt_here, past_forecasts
from heaps.models import Bay, Entry, KeptForecast, KeptLesson, Site
from heaps.science.living import forecast as living
from heaps.science.living import outlook
from heaps.science.living.foresight import Doubt, When

pytestmark = [pytest.mark.ledger, pytest.mark.usefixtures("few_and_short")]
GREENS = {"feedstock": "grass-fresh", "half_containers": 12, "container_ml": 80_000}
BROWNS = {"feedstock": "leaves-mixed", "half_containers": 12, "container_ml": 80_000}
ALL = {"half_bags": 8, "bag_ml": 40_000, "per_cent": 100, "sieved": "sieved"}


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many heaps went through the equations, one number for each time they were asked."""
    asked: list[int] = []
    really = living.foresee

    def counting(where: Any, records: Mapping[int, Any], *more: Any) -> Any:
        asked.append(len(records))
        return really(where, records, *more)

    monkeypatch.setattr(open_heaps, "foresee", counting)
    return asked


def forecasts(now: datetime) -> int:
    return sum(one.forecasts for one in forecast_all(now))


def of(bay: Bay) -> Foretold | None:
    state = history.current_states([bay.site_id]).get(str(bay.uid))
    return foretold_of(bay.pk, state.batch if state else None)


def fill(keep: Any, bay: Bay, moment: datetime) -> None:
    keep("dropoff", bay, moment, **GREENS)
    keep("dropoff", bay, moment + timedelta(hours=1), **BROWNS)


def test_each_heap_has_a_forecast_with_all_a_page_asks_for(keep: Any, bay: Bay, second_bay: Bay, at: Any) -> None:
    fill(keep, bay, at(5, 1))
    keep("reading", bay, at(5, 20), temp_tenths_c=400)
    keep("reading", bay, at(5, 21), temp_tenths_c=4_000 // 4)
    assert forecasts(at(5, 30)) == 1
    found = of(bay)
    assert found and not found.stale and found.made_on == at(5, 30).date() and found.closed_on == at(5, 1).date()
    assert 0 < found.bags.low < found.bags.middle < found.bags.high and found.bag_litres == 40
    assert (found.ready.first.year, found.ready.first.month) >= (2026, 5)
    assert found.balance.c_to_n > 0 and Doubt.NO_HARVEST in found.why_wide
    assert set(found.what_if) == set(When) and len(found.worth) == 3
    assert [(one.day, one.value) for one in found.set_aside] == [(at(5, 21).date(), 100.0)]
    assert found.temperature.first == at(5, 1).date() and len(found.temperature.middle) >= 12
    now, soon = found.fill.on(found.made_on), found.fill_in_a_fortnight
    assert now and soon and 0 < soon.low < soon.middle < now.high
    assert found.fill.on(at(4, 30).date()) is None and found.fill.on(at(12, 30).date()) is None
    assert of(second_bay) is None


def test_nothing_is_reckoned_while_entries_come_in(keep: Any, bay: Bay, at: Any, made: list[int]) -> None:
    fill(keep, bay, at(5, 1))
    assert made == [] and of(bay) is None


def test_after_an_entry_only_the_heap_it_touched_is_made_anew(
    keep: Any, bay: Bay, second_bay: Bay, at: Any, made: list[int]
) -> None:
    fill(keep, bay, at(5, 1))
    fill(keep, second_bay, at(5, 2))
    assert forecasts(at(5, 30)) == 2 and forecasts(at(5, 30)) == 0
    assert made == [2]
    keep("reading", bay, at(5, 29), temp_tenths_c=300)
    first, second = of(bay), of(second_bay)
    assert first and first.stale and second and not second.stale
    assert forecasts(at(5, 30)) == 1 and made == [2, 1]
    assert (again := of(bay)) and not again.stale
    assert forecasts(at(5, 31)) == 2, "once a day all of them"


def test_what_came_late_or_was_corrected_is_known_to_all_heaps_it_reaches(
    keep: Any, bay: Bay, second_bay: Bay, at: Any
) -> None:
    fill(keep, bay, at(5, 1))
    keep("reading", bay, at(5, 10), temp_tenths_c=300)
    keep("reading", bay, at(5, 20), temp_tenths_c=300)
    keep("turn", second_bay, at(5, 25), sources=[{"bay": str(bay.uid), "per_cent": 100}])
    forecasts(at(5, 30))
    keep("dropoff", bay, at(5, 2), arrives=at(5, 30), **GREENS)
    assert (found := of(second_bay)) and found.stale, "a load that went over with the turn"
    forecasts(at(5, 30))
    wrong = Entry.objects.get(kind="reading", effective_at=at(5, 10))
    keep("correction", None, at(5, 30, 12), corrects=str(wrong.uid), says="withdraw")
    assert (found := of(second_bay)) and found.stale, "a reading that was not the last one"


def test_what_is_made_anew_from_the_ledger_has_its_forecasts_made_anew(
    keep: Any, bay: Bay, site: Site, at: Any
) -> None:
    keep("dropoff", bay, at(5, 1), **GREENS)  # one only: its state is then counted as before
    forecasts(at(5, 30))
    history.rebuild(site)
    assert (found := of(bay)) and found.stale
    assert forecasts(at(5, 30)) == 1


def test_a_heap_that_is_gone_has_none(keep: Any, bay: Bay, at: Any) -> None:
    fill(keep, bay, at(5, 1))
    forecasts(at(5, 30))
    keep("tip_out", bay, at(5, 31))
    assert of(bay) is None
    fill(keep, bay, at(6, 1))
    assert of(bay) is None, "that of the heap before says nothing of this one"


@pytest.fixture
def ended_heap(keep: Any, bay: Bay, at: Any) -> Callable[[], None]:
    def ended_heap() -> None:
        fill(keep, bay, at(3, 1))
        keep("verdict", bay, at(6, 1), test="look", ready="ready")
        keep("harvest", bay, at(6, 20), **ALL)

    return ended_heap


def test_a_harvest_teaches_and_stands_against_what_had_been_said(
    keep: Any, ended_heap: Any, second_bay: Bay, at: Any
) -> None:
    ended_heap()
    fill(keep, second_bay, at(6, 1))
    before = outlook.Learning()
    (one,) = forecast_all(at(7, 1))
    assert (one.forecasts, one.lessons) == (1, 1)
    learnt = learnt_here()
    assert learnt.harvests == 1 and learnt.days.freedom == before.days.freedom + 1
    assert learnt_here(at(6, 20).date()).harvests == 0
    (past,) = past_forecasts()
    assert (past.bags, past.said_on, past.ready_on) == (4, at(4, 15).date(), at(6, 1).date())
    assert past.foretold_bags.low < past.foretold_bags.high
    assert (found := of(second_bay)) and Doubt.FEW_HARVESTS in found.why_wide
    assert KeptLesson.objects.get().says["days"] == 92


def test_a_lesson_is_made_anew_only_when_what_it_was_made_from_changed(
    keep: Any, ended_heap: Any, bay: Bay, at: Any
) -> None:
    ended_heap()
    assert sum(one.lessons for one in forecast_all(at(7, 1))) == 1
    assert sum(one.lessons for one in forecast_all(at(7, 2))) == 0
    harvest = Entry.objects.get(kind="harvest")
    instead = {"says": "instead", "kind": "harvest", "bay": str(bay.uid), "details": {**ALL, "half_bags": 20}}
    keep("correction", None, at(7, 2), corrects=str(harvest.uid), **instead)
    assert sum(one.lessons for one in forecast_all(at(7, 3))) == 1
    assert past_forecasts()[0].bags == 10
    keep("correction", None, at(7, 3), corrects=str(harvest.uid), says="withdraw")
    assert sum(one.lessons for one in forecast_all(at(7, 4))) == 0
    assert not past_forecasts() and learnt_here().harvests == 0


def test_a_lesson_of_an_earlier_release_teaches_nothing_until_it_is_made_anew(ended_heap: Any, at: Any) -> None:
    ended_heap()
    list(forecast_all(at(7, 1)))
    now = KeptLesson.objects.get().says
    earlier = {name: value for name, value in now.items() if name != "shape"} | {"said_bags": {"rule": 1.0}}
    KeptLesson.objects.update(says=earlier, key="of an earlier release")
    assert learnt_here().harvests == 0 and len(past_forecasts()) == 1
    assert sum(one.lessons for one in forecast_all(at(7, 2))) == 1
    assert learnt_here().harvests == 1 and KeptLesson.objects.get().says == now


def test_the_command_says_how_many_and_how_long(keep: Any, bay: Bay, at: Any) -> None:
    fill(keep, bay, at(5, 1))
    said = io.StringIO()
    call_command("forecast", stdout=said)
    assert "Lane Side: 1 heaps, 0 past ones" in said.getvalue() and "heaps = 1, seconds = " in said.getvalue()
    assert KeptForecast.objects.count() == 1


def test_what_an_earlier_release_kept_in_another_shape_is_not_shown_and_made_anew(keep: Any, bay: Bay, at: Any) -> None:
    fill(keep, bay, at(5, 1))
    forecasts(at(5, 30))
    kept = KeptForecast.objects.get()
    kept.says = {name: said for name, said in kept.says.items() if name != "shape"}
    kept.save()
    assert of(bay) is None and forecasts(at(5, 30)) == 1 and of(bay) is not None


def test_one_site_that_cannot_be_reckoned_leaves_the_others_theirs(
    keep: Any, bay: Bay, other_site: Site, at: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(keep, bay, at(5, 1))
    fill(keep, other_site.bays.get(), at(5, 1))
    really = open_heaps.bays_of

    def refuse(site: Site) -> list[str]:
        if site == other_site:
            raise ValueError("no such number")
        return really(site)

    monkeypatch.setattr(open_heaps, "bays_of", refuse)
    said, wrong = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit):
        call_command("forecast", stdout=said, stderr=wrong)
    assert "Far Field: ValueError: no such number" in wrong.getvalue() and "heaps = 1, " in said.getvalue()
    assert of(bay) is not None


def test_an_ended_heap_that_cannot_be_reckoned_leaves_the_others_their_forecasts(
    keep: Any, bay: Bay, second_bay: Bay, at: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(keep, bay, at(1, 1))
    keep("harvest", bay, at(3, 20), **ALL)
    fill(keep, second_bay, at(5, 1))

    def refuse(*_given: object) -> dict[int, object]:
        raise ZeroDivisionError("nothing lay there")

    monkeypatch.setattr(past, "outlooks", refuse)
    told = [(one.forecasts, one.fault) for one in forecast_all(at(8, 1))]
    assert told[0] == (0, "ZeroDivisionError: nothing lay there")
    assert sum(made for made, _fault in told) == 1 and of(second_bay) is not None


def test_the_oldest_teaches_first_wherever_it_lay(keep: Any, bay: Bay, other_site: Site, at: Any) -> None:
    """The later heap lies at the site whose name comes first."""
    other = other_site.bays.get()
    for where, month in ((bay, 1), (other, 4)):
        fill(keep, where, at(month, 1))
        keep("harvest", where, at(month + 2, 20), **ALL)
    made = {one.site: one.lessons for one in forecast_all(at(8, 1))}
    assert made == {"Far Field": 1, "Lane Side": 1}
    later, earlier = (past.foretold_bags for past in past_forecasts())
    KeptLesson.objects.all().delete()
    KeptForecast.objects.all().delete()
    keep("tip_out", bay, at(1, 2), arrives=at(8, 1))
    list(forecast_all(at(8, 2)))
    (alone,) = past_forecasts()
    assert alone.foretold_bags.high / alone.foretold_bags.low > later.high / later.low, "it had nothing to learn from"
    assert earlier.low > 0
