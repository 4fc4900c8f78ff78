"""The usual year at a site: typed or from a file, kept whole or not at all."""

from datetime import date
from html import unescape
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from heaps.models import KeptForecast, OwnClimate, Site, climate_at
from heaps.science.climate import UK_LOWLAND, UK_MONTHS

pytestmark = pytest.mark.ledger
SOURCE = "the station on the hill"
LINES = [f"{month},{month}.5,60" for month in range(1, 13)]


def typed(**other: str) -> dict[str, str]:
    """The published months as a form sends them, but for some."""
    air = {f"air_{month}": str(one) for month, (one, _) in enumerate(UK_MONTHS, 1)}
    rain = {f"rain_{month}": str(one) for month, (_, one) in enumerate(UK_MONTHS, 1)}
    return {**air, **rain, "source": SOURCE, "says": "months", **other}


def table(lines: list[str], **other: str) -> dict[str, Any]:
    text = "\n".join(["month,air_c,rain_mm", *lines])
    return {"says": "table", "source": SOURCE, "file": SimpleUploadedFile("year.csv", text.encode()), **other}


def sent(client: Any, site: Site, said: dict[str, Any]) -> tuple[int, str]:
    answer = client.post(reverse("heaps:climate", args=[site.uid]), said)
    return answer.status_code, unescape(answer.content.decode())


def test_the_published_figures_stand_there_with_their_source(client_of, steward, site) -> None:
    shown = unescape(client_of(steward).get(reverse("heaps:climate", args=[site.uid])).content.decode())
    assert "Here the published figures hold." in shown and "historic station data" in shown
    assert 'name="air_7" value="17.2"' in shown and 'name="rain_1" value="47"' in shown
    assert climate_at(site.pk) is UK_LOWLAND


def test_a_site_has_its_own_year_and_takes_the_published_one_again(client_of, coordinator, site, other_site) -> None:
    client = client_of(coordinator)
    assert sent(client, site, typed(air_7="19,5", rain_7="31"))[0] == 302
    assert climate_at(site.pk).on(date(2027, 7, 15)) == (19.5, 1.0)
    assert climate_at(site.pk).source == SOURCE
    assert climate_at(other_site.pk) is UK_LOWLAND
    shown = unescape(client.get(reverse("heaps:climate", args=[site.uid])).content.decode())
    assert 'name="air_7" value="19.5"' in shown and f"{SOURCE}." in shown and "17.2 °C" in shown
    assert sent(client, site, {"says": "published"})[0] == 302
    assert climate_at(site.pk) is UK_LOWLAND
    assert OwnClimate.objects.count() == 2


def test_what_was_forecast_by_other_weather_is_due_again(client_of, coordinator, site, other_site) -> None:
    for bay in (site.bays.first(), other_site.bays.first()):
        KeptForecast.objects.create(bay=bay, batch="b", made_on=date(2026, 5, 1), carried=3, says={})
    sent(client_of(coordinator), site, typed())
    assert KeptForecast.objects.get(bay__site=site).carried == KeptForecast.OLD
    assert KeptForecast.objects.get(bay__site=other_site).carried == 3


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"air_3": "mild"}, "March: air in °C must be a number, like 4.9."),
        ({"rain_2": ""}, "February: rain in mm must be a number, like 47."),
        ({"rain_12": "-4"}, "December: rain in mm must be from 0 to 2,000."),
        ({"air_6": "59"}, "June: air in °C must be from -40 to 45."),
        ({"air_6": "15.25"}, "June: air in °C: one place behind the point is enough"),
        ({"source": ""}, "Where the figures are from is missing."),
    ],
)
def test_what_cannot_be_is_asked_again_with_all_that_was_typed(
    client_of, coordinator, site, wrong: dict[str, str], said: str
) -> None:
    code, shown = sent(client_of(coordinator), site, typed(air_11="7.7", **wrong))
    assert code == 200 and said in shown and 'role="alert"' in shown
    assert 'name="air_11" value="7.7"' in shown
    for name, value in wrong.items():
        assert not value or f'name="{name}" value="{value}"' in shown
    assert not OwnClimate.objects.exists()


def test_a_file_goes_in_whole(client_of, steward, site) -> None:
    assert sent(client_of(steward), site, table(LINES))[0] == 302
    assert climate_at(site.pk).on(date(2027, 6, 15)) == (6.5, 2.0)


def test_of_a_file_with_bad_lines_nothing_goes_in_and_each_is_named(client_of, steward, site) -> None:
    bad = [*LINES[:2], "3,warm,60", *LINES[3:7], "8,8.5,-1", "thirteen,1,1", *LINES[9:]]
    code, shown = sent(client_of(steward), site, table(bad))
    assert code == 200 and not OwnClimate.objects.exists()
    for says in (
        "Line 4: the air must be a number from -40 to 45 °C.",
        "Line 9: the rain must be a number from 0 to 2000 mm.",
        "Line 10: the month must be a number from 1 to 12.",
        "September is missing. Add a line for it.",
        "Mend the file, then choose it once more.",
    ):
        assert says in shown
    assert f'value="{SOURCE}"' in shown


@pytest.mark.parametrize(
    ("file", "said"),
    [
        (None, "Choose a file."),
        (b"", "The first line must be: month,air_c,rain_mm."),
        (b"month,air_c,rain_mm\n" + b"x,y\n" * 9_000, "This file is too large for twelve months."),
        (b"\xff\xfe\x00PK", "The first line must be"),
    ],
)
def test_what_is_no_table_is_said_to_be_none(client_of, coordinator, site, file: bytes | None, said: str) -> None:
    whole = table(LINES)
    whole |= {"file": SimpleUploadedFile("year.csv", file) if file is not None else ""}
    code, shown = sent(client_of(coordinator), site, whole)
    assert code == 200 and said in shown and not OwnClimate.objects.exists()


def test_set_up_leads_there(client_of, steward, site) -> None:
    assert reverse("heaps:climate", args=[site.uid]) in client_of(steward).get(reverse("heaps:set_up")).content.decode()
