"""When and how much, on a heap's page; and past forecasts against what came. No page runs the equations."""

import html
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from heaps.board.range_chart import CELSIUS, Read, range_chart
from heaps.foreseeing import forecast_all
from heaps.foretold import Curve
from heaps.models import Bay, KeptForecast
from heaps.science.living import run
from heaps.views import past as past_page
from tests import pseudo
from tests.unspoken import literals

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("few_and_short")]
GREENS = {"feedstock": "grass-fresh", "half_containers": 12, "container_ml": 80_000}
BROWNS = {"feedstock": "leaves-mixed", "half_containers": 12, "container_ml": 80_000}


@pytest.fixture
def heap(keep: Any, bay: Bay) -> Bay:
    """A heap of seven weeks, measured three times; one of the readings cannot be."""
    began = timezone.now() - timedelta(days=49)
    keep("dropoff", bay, began, **GREENS)
    keep("dropoff", bay, began, **BROWNS)
    for days, tenths_c in ((5, 500), (12, 410), (20, 1_100)):
        keep("reading", bay, began + timedelta(days=days), temp_tenths_c=tenths_c)
    keep("reading", bay, began + timedelta(days=40), fill_per_cent=55)
    return bay


def section_of(client: Any, bay: Bay) -> str:
    page = client.get(reverse("heaps:heap", args=[bay.uid])).content.decode()
    section = page[page.index("When and how much") :]
    return section[: section.index("</section>")]


def text_of(markup: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", markup)).split())


def test_a_heap_says_when_how_much_why_so_wide_and_what_would_help(client_of: Any, member: Any, heap: Bay) -> None:
    list(forecast_all(timezone.now()))
    text = text_of(section := section_of(client_of(member), heap))
    assert re.search(r"\d+ to \d+ bags of 40 litres\.", text) and re.search(r"(Between|Perhaps now|Not before)", text)
    assert "Worked out on" in text and "More has been recorded since" not in text
    assert "Turned by Saturday: " in text and "Not turned at all: about" in text
    assert "No harvest is on record yet" in text and "110 °C on" in text and "no heap is so hot or so cold" in text
    assert re.search(r"What would help most now: .* It would take \d+ % off the doubt\.", text)
    assert re.search(r"In two weeks, with nothing more tipped: \d+ % to \d+ % full", text)
    assert re.search(r"C:N As it went in|C:N \d+ : 1 \d+ : 1", text) and "of what can rot has rotted" in text
    assert section.count("<svg") == 2 and section.count("<circle") == 3, "two that count, and one mark"
    assert section.count("<desc") == 2 and section.count("The chart as a table") == 2
    when = text[: text.index("Worked out on")]
    assert not re.search(r"\d{1,2} (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)", when), "never a day"


def test_a_heap_and_its_page_on_turns_tell_one_room_and_a_mark_counts_more_than_sums(
    client_of: Any, member: Any, keep: Any, heap: Bay
) -> None:
    list(forecast_all(timezone.now()))
    client, marked_on = client_of(member), heap.site.day_of(timezone.now() - timedelta(days=9))
    text = text_of(section_of(client, heap))
    assert "Room it takes 960 litres 550 litres" in text
    assert f"by the fill mark of {marked_on.day} {marked_on:%b %Y}" in text
    keep("dropoff", heap, timezone.now() - timedelta(hours=1), feedstock="grass-fresh", half_containers=1,
         container_ml=10_000)  # fmt: skip
    list(forecast_all(timezone.now()))
    balance = KeptForecast.objects.get().says["balance"]
    assert balance["volume_l"] < 400 < balance["read_l"] < 555, "the sums alone would have it sunk far below its mark"
    said = f"{round(balance['read_l'], -1):.0f} litres"
    text = text_of(section_of(client, heap))
    assert f"Room it takes 965 litres {said}" in text and "Readings move the room it takes" in text
    assert f"Bay 1, about {said}, reckoned" in text_of(
        client.get(reverse("heaps:fit", args=[heap.uid])).content.decode()
    )


@pytest.mark.parametrize(("fill", "more"), [(90, False), (20, True)])
def test_bags_that_may_hold_more_than_the_heap_takes_up_say_why(
    client_of: Any, member: Any, keep: Any, heap: Bay, fill: int, more: bool
) -> None:
    keep("reading", heap, timezone.now() - timedelta(hours=1), fill_per_cent=fill)
    list(forecast_all(timezone.now()))
    assert ("The bags may hold more than the heap takes up now" in section_of(client_of(member), heap)) == more


def test_a_page_runs_no_equations(client_of: Any, member: Any, heap: Bay, monkeypatch: pytest.MonkeyPatch) -> None:
    list(forecast_all(timezone.now()))

    def refuse(*_: Any) -> None:
        raise AssertionError("a day was lived while somebody waits")

    monkeypatch.setattr(run, "live", refuse)
    client = client_of(member)
    places = [reverse("heaps:heap", args=[heap.uid]), reverse("heaps:public_bay", args=[heap.site.uid, heap.uid])]
    for place in [*places, reverse("heaps:board"), reverse("heaps:collect"), reverse("heaps:past")]:
        assert client.get(place).status_code == 200
    with pytest.raises(AssertionError, match="was lived"):
        list(forecast_all(timezone.now() + timedelta(days=1)))


def test_an_old_forecast_says_from_when_it_is(client_of: Any, member: Any, keep: Any, heap: Bay) -> None:
    list(forecast_all(timezone.now() - timedelta(days=1)))
    keep("dropoff", heap, timezone.now() - timedelta(hours=1), **GREENS)
    text = text_of(section_of(client_of(member), heap))
    day = heap.site.day_of(timezone.now() - timedelta(days=1))
    assert f"worked out on {day.day} {day:%b %Y}. More has been recorded since" in text


def test_without_a_forecast_the_published_range_stands_there(client_of: Any, member: Any, heap: Bay) -> None:
    page = client_of(member).get(reverse("heaps:heap", args=[heap.uid])).content.decode()
    assert "What to expect" in page and "When and how much" not in page


def test_a_ready_heap_is_not_told_when_it_will_be(client_of: Any, member: Any, keep: Any, heap: Bay) -> None:
    keep("verdict", heap, timezone.now() - timedelta(hours=1), test="look", ready="ready")
    list(forecast_all(timezone.now()))
    text = text_of(section_of(client_of(member), heap))
    assert "Ready now." in text and "Turned by Saturday" not in text


def test_a_forecast_that_nobody_made_anew_for_a_year_draws_nothing(client_of: Any, member: Any, heap: Bay) -> None:
    list(forecast_all(timezone.now()))
    for kept in KeptForecast.objects.all():
        for name in ("temperature", "fill"):
            kept.says[name]["first"] = "2020-01-01"
        kept.save()
    assert "<svg" not in section_of(client_of(member), heap)


def test_past_forecasts_stand_against_what_came(client_of: Any, member: Any, keep: Any, bay: Bay, heap: Bay) -> None:
    client = client_of(member)
    assert "No heap has been taken out in bags" in client.get(reverse("heaps:past")).content.decode()
    keep("verdict", heap, timezone.now() - timedelta(days=3), test="look", ready="ready")
    keep("harvest", heap, timezone.now() - timedelta(days=2), half_bags=4_00, bag_ml=40_000, per_cent=100,
         sieved="sieved")  # fmt: skip
    list(forecast_all(timezone.now()))
    text = text_of(client.get(reverse("heaps:past")).content.decode())
    assert "Bags: 0 of 1 heap came out within the range." in text and "✕ 200 bags by" in text
    assert re.search(r"Bay 1, Lane Side On \d+ \w+ \d+: \d+ to \d+ bags of 40 litres\.", text)
    assert re.search(r"Called ready in \w+ 20\d\d\.", text)


def test_of_many_past_forecasts_the_latest_stand_there_and_all_are_counted(
    client_of: Any, member: Any, keep: Any, heap: Bay, second_bay: Bay, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(past_page, "SHOWN", 1)
    keep("dropoff", second_bay, timezone.now() - timedelta(days=90), **GREENS)
    for number, bay in enumerate([heap, second_bay]):
        keep("harvest", bay, timezone.now() - timedelta(days=3 - number), half_bags=9, bag_ml=40_000, per_cent=100,
             sieved="sieved")  # fmt: skip
    list(forecast_all(timezone.now()))
    text = text_of(client_of(member).get(reverse("heaps:past")).content.decode())
    assert "The last 1, the newest first" in text and " of 2 heaps came out within the range." in text
    assert "Bay 2, Lane Side" in text and "Bay 1, Lane Side" not in text


def test_all_of_it_can_be_said_in_another_language(
    client_of: Any, member: Any, keep: Any, heap: Bay, second_bay: Bay, tmp_path: Path
) -> None:
    keep("dropoff", second_bay, timezone.now() - timedelta(days=90), **GREENS)
    keep("harvest", second_bay, timezone.now() - timedelta(days=2), half_bags=9, bag_ml=40_000, per_cent=100,
         sieved="sieved")  # fmt: skip
    list(forecast_all(timezone.now()))
    with pseudo.spoken(pseudo.write(tmp_path)):
        client = client_of(member)
        shown = literals(client.get(reverse("heaps:past")).content.decode())
        page = client.get(reverse("heaps:heap", args=[heap.uid])).content.decode()
    english = " ".join([*shown, *literals(page)])
    found = [
        word for word in ("bags", "Between", "Turned", "doubt", "readings", "within", "came", "full") if word in english
    ]
    assert not found, english


def test_a_chart_is_half_a_year_to_either_side_and_a_reading_counts_in_its_month() -> None:
    today, weeks = date(2027, 3, 10), 100
    curve = Curve(date(2026, 1, 1), (0.0,) * weeks, (20.0,) * weeks, (40.0,) * weeks)
    reads = [Read(date(2027, 3, 2), 30.0), Read(date(2027, 3, 5), 35.0), Read(date(2026, 2, 1), 60.0)]
    chart = range_chart(curve, reads, today, CELSIUS)
    assert chart and timedelta(175) <= today - chart.first <= timedelta(182) and len(chart.dots) == 2
    assert chart.today == pytest.approx(chart.width / 2, abs=6)
    march = next(row for row in chart.rows if row.month == date(2027, 3, 1))
    assert (march.low, march.high, march.read) == (0.0, 40.0, (30.0, 35.0))
    (x, y), _ = chart.dots
    assert y == pytest.approx(chart.height * (80 - 30) / 90) and x < chart.today
    assert range_chart(curve, reads, date(2029, 1, 1), CELSIUS) is None
