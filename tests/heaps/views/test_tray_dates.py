"""The tray says of each entry what it counts as by now, and when; and what was said of it where that is otherwise."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from heaps.sync import Sending, accept, hand_in
from heaps.tray import of_day, tray
from members.models import Member
from tests.heaps.views.conftest import text_of
from tests.sendings import NOON, load, send

pytestmark = pytest.mark.ledger
ClientOf = Callable[[Member | None], Client]
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}


def test_the_list_of_a_day_says_what_counts_by_now(client_of, coordinator, keep, bay, at) -> None:
    """A coordinator judges by it: the corrected amount stands first, then what was recorded before."""
    one, two = ({"feedstock": "coffee", "half_containers": 2 * count, "container_ml": 9_000} for count in (1, 2))
    first = keep("dropoff", bay, at(5, 1), **one)
    mended = {"corrects": first.uid, "says": "instead", "kind": "dropoff", "bay": str(bay.uid)}
    keep("correction", None, at(5, 1, 11), **mended, details=two)
    page = text_of(client_of(coordinator).get(reverse("heaps:tray"), {"day": "2026-05-01"}))
    now, before = (f"{count} × 9 litres of Coffee grounds into Bay 1" for count in (2, 1))
    assert f"{now} Corrected. Before: {before} Lane Side, 1 May 2026, 11:00" in page, page
    keep("correction", None, at(5, 1, 12), **mended, occurred_at=at(4, 30).isoformat(), details=two)
    (told,) = of_day(date(2026, 5, 1))
    assert (told.at, told.before_at) == (at(4, 30), at(5, 1))
    keep("correction", None, at(5, 1, 13), **mended, details=one)
    (told,) = of_day(date(2026, 5, 1))
    assert (told.before, told.before_at) == ("", None)  # it is as it was first


@pytest.mark.parametrize("day", ["", "yesterday", "2026-02-30"])
def test_a_day_that_is_none_shows_the_page_without_a_list(client_of, coordinator, day: str) -> None:
    answer = client_of(coordinator).get(reverse("heaps:tray"), {"day": day})
    assert (answer.status_code, "Nothing is recorded" in answer.content.decode()) == (200, False)


@pytest.mark.parametrize(
    ("clock", "said"),
    [
        ({"occurred_at": "2027-03-01T10:00:00Z"}, "Recorded by Ada. The phone said 1 Mar 2027, 10:00."),
        ({"occurred_at": "2027-03-01T10:00:00Z", "by_hand": True}, "The date that was typed in is 1 Mar 2027, 10:00."),
    ],
    ids=["by the phone", "typed in"],
)
def test_what_is_dated_in_the_future_says_so_in_its_own_words(
    client_of, coordinator, bay, member, clock: dict[str, Any], said: str
) -> None:
    """Else nobody could tell a slip in typing from a wrong clock; laid aside, it says the same."""
    bay.site.time_zone = "UTC"
    bay.site.save()
    send([load(bay, **clock)], member)
    hand_in([load(bay, **clock)], str(member.uid), Sending(None, uuid.UUID(int=7), sent_at=NOON, received_at=NOON))
    page = text_of(client_of(coordinator).get(reverse("heaps:tray")))
    assert page.count(f"{said} It counts from when it came.") == 2, page


def test_an_old_load_of_a_phone_whose_clock_is_wrong_says_both_dates(client_of, coordinator, bay, member) -> None:
    """Its clock is four days ahead, and is set right; what it said stands beside it."""
    sending = Sending(
        member, uuid.UUID(int=7), sent_at=NOON + timedelta(days=94), received_at=NOON + timedelta(days=90)
    )
    accept([load(bay)], sending)
    page = text_of(client_of(coordinator).get(reverse("heaps:tray")))
    assert "It is dated more than 60 days before it arrived." in page
    assert "27 Apr 2026, 13:00. Recorded by Ada. The phone said 1 May 2026, 13:00. Take" in page, page


def test_a_corrected_date_is_the_one_that_counts(keep, bay, at) -> None:
    late = keep("dropoff", bay, at(6, 1), arrives=at(5, 1), **A_BUCKET)
    (asked,) = tray(at(5, 2)).asked
    assert (asked.entries[0].claimed_at, asked.entries[0].at) == (at(6, 1), at(5, 1))
    keep("correction", None, at(5, 2), corrects=late.uid, says="instead", kind="dropoff", bay=str(bay.uid),
         occurred_at=at(4, 30).isoformat(), details=A_BUCKET)  # fmt: skip
    (told,) = of_day(date(2026, 5, 1))
    assert (told.at, told.before_at, told.claimed_at) == (at(4, 30), at(5, 1), None)


@pytest.mark.parametrize("moment", ["0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "0026-05-01T10:00:00Z"])
@pytest.mark.parametrize("time_zone", ["Pacific/Auckland", "America/Los_Angeles"])
def test_no_year_shuts_the_tray(client_of, coordinator, bay, member, moment: str, time_zone: str) -> None:
    bay.site.time_zone = time_zone
    bay.site.save()
    send([load(bay, occurred_at=moment, by_hand=True)], member)
    page = text_of(client_of(coordinator).get(reverse("heaps:tray")))
    assert ("typed in" in page) == moment.startswith("0026")


def test_an_absurd_year_is_no_date(client_of, coordinator, bay, member) -> None:
    send([load(bay, occurred_at="0001-01-01T00:00:00Z", by_hand=True)], member)
    page = client_of(coordinator).get(reverse("heaps:tray")).content.decode()
    assert "on a day that is not known" in page and "1990," not in page


@pytest.mark.parametrize("day", ["0001-01-01", "0001-01-02", "9999-12-31"])
def test_the_ends_of_the_calendar_hold_no_entries(client_of, coordinator, day: str) -> None:
    answer = client_of(coordinator).get(reverse("heaps:tray"), {"day": day})
    assert (answer.status_code, "Nothing is recorded" in answer.content.decode()) == (200, True)
