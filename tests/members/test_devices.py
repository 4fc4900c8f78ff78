"""Somebody sees where they are signed in, and ends it there; what waits on that phone is not lost."""

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from members.models import Device, Member, Session
from members.sessions import delete_long_ended

HERE = reverse("members:devices")
ANDROID = "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Chrome/126.0.0.0 Mobile Safari/537.36"


def browser_of(person: Member, says: str = ANDROID) -> tuple[Client, Device]:
    """A browser in which somebody has just signed in, and its device."""
    browser = Client(headers={"user-agent": says})
    assert browser.post("/sign-in/", {"username": person.username, "password": "leaves and straw"}).status_code == 302
    return browser, Device.objects.order_by("pk").last()  # type: ignore[return-value]


def page(browser: Client) -> str:
    answer = browser.get(HERE)
    assert "no-store" in answer["Cache-Control"]
    return answer.content.decode()


def test_a_person_sees_their_own_devices_and_nobody_else_s(member: Member, other_member: Member) -> None:
    browser, _here = browser_of(member)
    _other, theirs = browser_of(other_member, "iPhone Safari")
    seen = page(browser)
    assert "Android, Chrome" in seen and "this one" in seen and "Last seen" not in seen
    assert str(theirs.uid) not in seen and "iPhone" not in seen
    assert HERE in browser.get("/me/").content.decode()


def test_a_lost_phone_is_signed_out_from_another(member: Member) -> None:
    browser, _here = browser_of(member)
    lost_browser, lost = browser_of(member, "iPhone Safari")
    Device.objects.filter(pk=lost.pk).update(waiting=3)
    assert "3 entries still waited on it then" in page(browser)
    answer = browser.post(HERE, {"device": str(lost.uid)}, follow=True).content.decode()
    assert "can still be handed in" in answer
    assert "It last spoke of 3 entries. They stay on it" in answer
    assert lost_browser.get(HERE).status_code == 302
    assert browser.get(HERE).status_code == 200
    assert str(lost.uid) not in answer, "what is ended cannot be ended again"


def test_ending_one_s_own_device_is_signing_out(member: Member) -> None:
    browser, here = browser_of(member)
    answer = browser.post(HERE, {"device": str(here.uid)})
    assert answer["Location"] == reverse("members:sign_in")
    assert browser.get(HERE).status_code == 302
    assert Device.objects.get().ended_at is not None
    assert not Session.objects.filter(device=here).exists()


def test_nobody_ends_another_s_device(member: Member, other_member: Member) -> None:
    browser, _here = browser_of(member)
    theirs_browser, theirs = browser_of(other_member)
    for device in (str(theirs.uid), str(uuid.uuid4()), "", "x"):
        assert browser.post(HERE, {"device": device}).status_code == 404
    assert theirs_browser.get(HERE).status_code == 200


@pytest.mark.parametrize(("days", "listed"), [(34, True), (36, False)])
def test_an_ended_device_is_listed_as_long_as_its_phone_remembers(member: Member, days: int, listed: bool) -> None:
    browser, _here = browser_of(member)
    _gone, ended = browser_of(member, "iPhone Safari")
    _over, ran_out = browser_of(member, "iPad Safari")
    then = timezone.now() - timedelta(days=days)
    Device.objects.filter(pk=ended.pk).update(ended_at=then)
    Device.objects.filter(pk=ran_out.pk).update(last_seen_at=then)
    Session.objects.filter(device=ran_out).update(expire_date=then)
    seen = page(browser)
    assert (("iPhone" in seen), ("iPad" in seen)) == (listed, listed)
    Session.objects.filter(expire_date__lt=timezone.now()).delete()
    delete_long_ended(timezone.now())
    assert Device.objects.count() == (3 if listed else 1)
