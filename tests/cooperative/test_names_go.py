"""Names go by themselves after their time, with ended sign-ins and what let somebody in."""

from datetime import datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from cooperative.leaving import months_before
from heaps import history
from heaps.models import Bay, Entry, Headcount, Site
from members import tickets
from members.models import Cooperative, Member, Session, Ticket, Tries
from tests.cooperative.test_leaving import dump, sent, zuleika

__all__ = ["zuleika"]  # fixtures, taken over as they are
pytestmark = pytest.mark.ledger


def run(*options: str) -> str:
    said = StringIO()
    call_command("detach_names", *options, stdout=said)
    return said.getvalue()


def test_names_go_after_their_time(zuleika: Member, bay: Bay, site: Site, cooperative: Cooperative) -> None:
    now = timezone.now()
    Entry.objects.filter(person=zuleika).update(received_at=now)
    recent, old = now - timedelta(days=20), months_before(now, 24) - timedelta(days=1)
    sent(bay, zuleika, recent, words="kept")
    sent(bay, zuleika, old, words="too old")
    before = dump()
    assert run("--dry-run").startswith("1 entries older than ")
    assert dump() == before
    assert run().startswith("1 entries older than ")
    assert not Entry.objects.filter(words="too old").exists()
    assert Entry.objects.get(words="kept").person == zuleika
    assert Headcount.objects.filter(months=1).count() == 1
    assert history.drift(site) == []
    again = dump()
    assert run().startswith("0 entries")
    assert dump() == again


def test_ended_sign_ins_go_with_them(zuleika: Member) -> None:
    ended = Session.objects.first()
    Session.objects.filter(pk=ended.pk).update(expire_date=timezone.now() - timedelta(minutes=1))
    run()
    assert not Session.objects.filter(pk=ended.pk).exists() and Session.objects.count() == 1


def test_what_let_somebody_in_and_what_was_counted_goes_with_them(zuleika: Member, coordinator: Member) -> None:
    now = timezone.now()
    over = tickets.sign_in_words(zuleika, zuleika, now - timedelta(minutes=11))
    lasting = tickets.invite(coordinator, tickets.TO_SEND, now)
    Tries.objects.create(of="old", since=now - timedelta(minutes=61))
    Tries.objects.create(of="new", since=now)
    long_ago, lately = zuleika.devices.all()
    for device, days in ((long_ago, 36), (lately, 34)):
        zuleika.devices.filter(pk=device.pk).update(ended_at=now - timedelta(days=days))
    run("--dry-run")
    assert Ticket.objects.filter(pk=over.ticket.pk).exists()
    run()
    assert list(Ticket.objects.all()) == [lasting.ticket]
    assert list(Tries.objects.values_list("of", flat=True)) == ["new"]
    assert list(zuleika.devices.all()) == [lately]


def test_names_can_be_kept_for_less(zuleika: Member) -> None:
    with pytest.raises(CommandError, match="from 1 to 1200"):
        run("--months", "0")
    run("--months", "1")
    assert not Entry.objects.exclude(person=None, device=None, words="").exists()
    assert Member.objects.filter(pk=zuleika.pk).exists()


@pytest.mark.parametrize(
    ("now", "months", "then"),
    [((2026, 11, 25), 24, (2024, 11, 25)), ((2026, 3, 31), 1, (2026, 2, 28)), ((2026, 1, 15), 1, (2025, 12, 15))],
)
def test_months_are_those_of_the_calendar(now: Any, months: int, then: Any) -> None:
    assert months_before(datetime(*now), months) == datetime(*then)  # noqa: DTZ001 - days, of no zone
