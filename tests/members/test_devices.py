"""Somebody sees where they are signed in, and ends it there; what waits on that phone is not lost."""

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from heaps.models import Bay
from members.hand_over import key_of
from members.models import Device, Member, Session
from members.sessions import delete_long_ended
from tests.letters import body, load, post

HERE = reverse("members:devices")
ANDROID = "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 Chrome/126.0.0.0 Mobile Safari/537.36"


def browser_of(person: Member, says: str = ANDROID) -> tuple[Client, Device]:
    """A browser in which somebody has just signed in, and its device."""
    browser = Client(headers={"user-agent": says})
    assert browser.post("/sign-in/", {"username": person.username, "password": "leaves and straw"}).status_code == 302
    return browser, Device.objects.order_by("pk").last()  # type: ignore[return-value]  # it was just made


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


def test_a_phone_that_fell_silent_is_shown_to_its_person_and_to_coordinators(
    member: Member, coordinator: Member, steward: Member
) -> None:
    browser, _here = browser_of(member, "iPhone Safari")
    _silent, lost = browser_of(member)
    spoke = timezone.now() - timedelta(days=4)
    Device.objects.filter(pk=lost.pk).update(waiting=3, spoke_at=spoke)
    assert "This phone last spoke of 3 waiting" in page(browser)
    tray, _desk = browser_of(coordinator)
    assert "this phone last spoke of 3 waiting" in tray.get("/tray/").content.decode()
    of_one_site, _desk = browser_of(steward)
    assert "last spoke of" not in of_one_site.get("/tray/").content.decode(), "people belong to no site"
    browser.post(HERE, {"settled": str(lost.uid)})
    assert "last spoke of 3" not in page(browser) + tray.get("/tray/").content.decode()


@pytest.mark.parametrize(("says", "is_said"), [(ANDROID, True), ("iPhone Safari", False)])
def test_a_new_sign_in_on_a_phone_like_it_asks_whether_it_was_emptied(member: Member, says: str, is_said: bool) -> None:
    """A phone whose data was all cleared has to sign in again; nothing tells that it is the same but what it is."""
    _before, old = browser_of(member)
    then = timezone.now() - timedelta(minutes=5)
    Device.objects.filter(pk=old.pk).update(waiting=2, spoke_at=then, signed_in_at=then)
    browser, _now = browser_of(member, says)
    assert ("This phone last spoke of 2 waiting" in page(browser)) is is_said


def test_what_is_handed_in_without_a_sign_in_is_no_longer_spoken_of(member: Member, bay: Bay) -> None:
    browser, device = browser_of(member)
    post(browser, body(member, [], waiting=2) | {"entries": []})
    Device.objects.filter(pk=device.pk).update(phone=uuid.UUID(int=7), waiting=2)
    post(Client(), body(member, [load(bay)], waiting=2, key=key_of(member)))
    assert Device.objects.get(pk=device.pk).waiting == 1
