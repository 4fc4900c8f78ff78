"""A session knows its device; whoever was signed in before devices were told apart stays so."""

from collections.abc import Callable
from datetime import timedelta
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore as OldStore
from django.contrib.sessions.models import Session as OldSession
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from heaps.models import Site
from members.models import Device, Member, Passkey, Session
from members.sessions import end, label_of

move = import_module("members.migrations.0003_move_sessions").move
ANDROID = (
    "Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 Mobile Safari/537.36"
)
IPHONE = (
    "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
    "Version/17.5 Mobile/15E148 Safari/604.1"
)
EDGE = (
    "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/126.0.0.0 "
    "Safari/537.36 Edg/126.0.0.0"
)


@pytest.mark.parametrize(
    ("says", "label"),
    [
        (ANDROID, "Android, Chrome"),
        (IPHONE, "iPhone, Safari"),
        (EDGE, "Windows, Edge"),
        ("", "Another device"),
        ("<script>" * 50, "Another device"),
    ],
)
def test_a_device_is_named_in_plain_words(says: str, label: str) -> None:
    assert label_of(says) == label


def test_a_device_stands_from_sign_in_to_sign_out(member: Member) -> None:
    browser = Client()
    browser.force_login(member)
    device = Device.objects.get(member=member)
    assert Session.objects.get().device == device
    assert device.ended_at is None
    browser.post("/sign-out/")
    device.refresh_from_db()
    assert device.ended_at is not None
    assert not Session.objects.filter(device=device).exists()


def test_an_answer_takes_no_cookie_away_that_its_own_request_did_not_end(member: Member) -> None:
    """An ended phone's answer may come after a sign-in on it: it would sign them out again."""
    phone = Client()
    phone.force_login(member)
    Session.objects.all().delete()
    for address in ("/sync/", "/guide/", "/sign-in/"):
        assert settings.SESSION_COOKIE_NAME not in phone.get(address).cookies, address
    phone.force_login(member)
    assert phone.post("/sign-out/").cookies[settings.SESSION_COOKIE_NAME]["max-age"] == 0


def test_ending_one_device_leaves_the_others(member: Member) -> None:
    lost, kept = Client(), Client()
    for browser in (lost, kept):
        browser.force_login(member)
    end(Device.objects.get(sessions__session_key=lost.session.session_key))
    assert lost.get("/me/").status_code == 302
    assert kept.get("/me/").status_code == 200


def test_a_changed_password_keeps_the_device(member: Member) -> None:
    browser = Client()
    browser.force_login(member)
    browser.post("/password/", {"old": "leaves and straw", "new": "wet cardboard and twigs"})
    assert browser.get("/me/").status_code == 200
    assert Session.objects.get(session_key=browser.session.session_key).device == Device.objects.get()


def test_whoever_was_signed_in_before_stays_so(member: Member, other_member: Member) -> None:
    browser = Client()
    browser.force_login(member)
    said: dict[str, Any] = {key: value for key, value in browser.session.items() if key != "device"}
    old = OldStore()
    old.update(said)
    old.save()
    gone = OldStore()
    gone.update(said)
    gone.set_expiry(timezone.now() - timedelta(days=1))
    gone.save()
    OldSession.objects.create(session_key="forged", session_data="nonsense", expire_date=timezone.now() + timedelta(1))
    Device.objects.all().delete()
    move(apps, None)
    assert not OldSession.objects.exists()
    browser.cookies["session"] = str(old.session_key)
    assert browser.get("/me/").status_code == 200
    assert Device.objects.get().member == member


def test_a_device_is_seen_at_most_once_an_hour_and_that_costs_no_question_more(
    member: Member,
) -> None:
    browser = Client()
    browser.force_login(member)
    before = Device.objects.get().last_seen_at
    with CaptureQueriesContext(connection) as asked:
        browser.get("/password/")
    assert "members_device" in asked[0]["sql"], "the device comes with its session"
    assert not [one for one in asked[1:] if "members_device" in one["sql"]]
    assert Device.objects.get().last_seen_at == before
    Device.objects.update(last_seen_at=before - timedelta(minutes=61))
    browser.get("/password/")
    assert Device.objects.get().last_seen_at >= before


def test_whoever_is_given_a_role_signs_in_anew(
    client_of: Callable[..., Client], administrator: Member, member: Member
) -> None:
    """A coordinator can have let themselves in as a plain member before: that must not come with the role."""
    kept_from_before = client_of(member)
    Passkey.objects.create(
        member=member, credential_id="abc", public_key=b"x", label="Android, Chrome", made_at=timezone.now()
    )
    office = client_of(administrator)
    said = {"name": "Ada", "username": "ada"}
    office.post(f"/set-up/people/{member.uid}/", said)
    assert kept_from_before.get("/me/").status_code == 200, "nothing was given"
    page = office.post(f"/set-up/people/{member.uid}/", said | {"is_coordinator": "on"}, follow=True)
    assert "With a new role Ada signs in anew" in page.content.decode()
    assert kept_from_before.get("/me/").status_code == 302
    assert not member.passkeys.exists()


def test_whoever_becomes_coordinator_of_a_site_signs_in_anew(
    client_of: Callable[..., Client], administrator: Member, member: Member, site: Site
) -> None:
    kept_from_before = client_of(member)
    client_of(administrator).post(f"/set-up/sites/{site.uid}/coordinators/", {"person": str(member.uid)})
    assert site.stewardships.filter(member=member).exists()
    assert kept_from_before.get("/me/").status_code == 302
