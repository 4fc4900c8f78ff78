"""Who is coordinator of one site, given and taken away; and what such a coordinator sees of the rest."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from heaps.models import Bay, Entry, Parked, Site, Stewardship
from members.models import Member

pytestmark = pytest.mark.ledger
ClientOf = Callable[[Member | None], Client]
A_BUCKET: dict[str, Any] = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}


def page_of(site: Site) -> str:
    return f"/set-up/sites/{site.uid}/coordinators/"


@pytest.mark.parametrize("giver", ["coordinator", "administrator"])
def test_the_role_is_given_and_taken_away(client_of: ClientOf, site: Site, member: Member, giver: str, request) -> None:
    browser = client_of(request.getfixturevalue(giver))
    page = browser.post(page_of(site), {"person": str(member.uid)}, follow=True).content.decode()
    assert "Ada is a coordinator of Lane Side now." in page
    assert client_of(member).get("/set-up/").status_code == 200
    page = browser.post(page_of(site), {"take_away": str(member.uid)}, follow=True).content.decode()
    assert "Ada is no longer a coordinator of Lane Side." in page
    assert client_of(member).get("/set-up/").status_code == 403
    assert browser.post(page_of(site), {"take_away": str(member.uid)}).status_code == 302  # once more


@pytest.mark.parametrize("who", ["", "x", "coordinator", "former_member", "steward"])
def test_only_who_can_be_one_is_taken(client_of: ClientOf, administrator, site: Site, who: str, request) -> None:
    uid = str(request.getfixturevalue(who).uid) if len(who) > 1 else who
    before = list(Stewardship.objects.values())
    page = client_of(administrator).post(page_of(site), {"person": uid}).content.decode()
    assert "Choose one from the list." in page
    assert list(Stewardship.objects.values()) == before


def test_a_number_that_is_none_is_not_found(client_of: ClientOf, administrator: Member, site: Site) -> None:
    assert client_of(administrator).post(page_of(site), {"take_away": "x"}).status_code == 404


def test_the_register_and_the_person_s_page_say_it(
    client_of: ClientOf, administrator, steward: Member, member: Member, site: Site, django_assert_num_queries
) -> None:
    browser = client_of(administrator)
    assert "coordinator of Lane Side" in browser.get("/set-up/people/").content.decode()
    assert "Coordinator of Lane Side alone." in browser.get(f"/set-up/people/{steward.uid}/").content.decode()
    assert "alone" not in browser.get(f"/set-up/people/{member.uid}/").content.decode()
    for number in range(20):
        someone = Member.objects.create_member(f"some{number}", "Some")
        Stewardship.objects.create(site=site, member=someone)
    with django_assert_num_queries(5):
        browser.get("/set-up/people/")


def test_the_set_up_shows_only_one_s_own_site(client_of: ClientOf, steward: Member, site: Site, other_site) -> None:
    page = client_of(steward).get("/set-up/").content.decode()
    assert "Lane Side" in page
    assert "Far Field" not in page
    assert page_of(site) not in page


@pytest.fixture
def waiting(keep, bay: Bay, other_site: Site, member, other_member, coordinator, at) -> dict[str, dict[str, str]]:
    """At both sites: a doubled load, an entry to place, and a load into a closed bay."""
    found = {}
    for one in (bay, other_site.bays.get()):
        for who in (member, other_member):
            twice = keep("dropoff", one, at(5, 1), by=who, **A_BUCKET)
        lost = keep("dropoff", Bay(uid=uuid.uuid4(), site=one.site), at(5, 1), by=member, wants="parked", **A_BUCKET)
        keep("close", one, at(5, 2), by=coordinator)
        late = keep("dropoff", one, at(5, 3), by=member, **A_BUCKET)
        found[one.site.name] = {"twice": twice.uid, "lost": lost.uid, "late": late.uid, "bay": str(one.uid)}
    return found


def test_the_tray_shows_only_one_s_own_site(client_of: ClientOf, steward: Member, waiting) -> None:
    page = client_of(steward).get("/tray/?day=2026-05-01").content.decode()
    for what, uid in waiting["Lane Side"].items():
        assert uid in page, what
    for what, uid in waiting["Far Field"].items():
        assert uid not in page, what
    assert "Far Field" not in page


def test_the_first_page_and_the_board_count_only_one_s_own(
    client_of: ClientOf, steward: Member, coordinator: Member, waiting
) -> None:
    for page in ("/", "/heaps/"):
        counted = [client_of(who).get(page).content.decode() for who in (steward, coordinator)]
        assert ["3 things wait for you" in counted[0], "6 things wait for you" in counted[1]] == [True, True], page


@pytest.mark.parametrize(("says", "what"), [("withdraw", "twice"), ("stands", "twice"), ("place", "lost")])
def test_only_what_waits_at_one_s_own_site_is_settled(
    client_of: ClientOf, steward: Member, waiting, says: str, what: str
) -> None:
    browser, before = client_of(steward), Entry.objects.count()
    there, here = waiting["Far Field"], waiting["Lane Side"]
    answer = browser.post("/tray/", {"says": says, "entry": there[what], "bay-0": there["bay"]})
    assert (answer.status_code, Entry.objects.count()) == (404, before)
    page = browser.post("/tray/", {"says": says, "entry": here[what], "bay-0": here["bay"]}, follow=True)
    assert "Settled" in page.content.decode()
    assert Entry.objects.count() == before + 1


def test_an_entry_is_not_placed_in_a_bay_of_others(client_of: ClientOf, steward: Member, waiting) -> None:
    said = {"says": "place", "entry": waiting["Lane Side"]["lost"], "bay-0": waiting["Far Field"]["bay"]}
    page = client_of(steward).post("/tray/", said, follow=True).content.decode()
    assert "Choose a bay first." in page
    assert Parked.objects.filter(placed_at=None).count() == 2
