"""One load's page: what a coordinator does with a load that may be bad."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from cooperative import leaving
from heaps.models import Bay, BeanTest, Donor, Entry, Ledger, Site
from members.models import Member
from tests.cooperative.test_leaving import dump
from tests.cooperative.test_names_go import run

pytestmark = pytest.mark.ledger
MANURE = {"feedstock": "horse-manure", "half_containers": 2, "container_ml": 80_000}
At = Callable[..., datetime]
ClientOf = Callable[[Member | None], Client]


@pytest.fixture
def load(keep: Any, bay: Bay, member: Member, at: At) -> Entry:
    keep("dropoff", bay, at(5, 3), by=member, words="steams a lot", **MANURE)
    return Entry.objects.get()


@pytest.fixture
def where(load: Entry) -> str:
    return f"/loads/{load.uid}/"


@pytest.fixture
def browser(client_of: ClientOf, coordinator: Member) -> Client:
    return client_of(coordinator)


def test_the_page_tells_all_and_is_kept_nowhere(
    browser: Client, where: str, keep: Any, bay: Bay, other_member: Member, at: At
) -> None:
    keep("harvest", bay, at(5, 20), half_bags=5, per_cent=50, bag_ml=40_000, sieved="sieved")
    keep("collection", None, at(5, 21), by=other_member, half_bags=3, bag_ml=40_000)
    answer = browser.get(where)
    page = " ".join(answer.content.decode().split())
    assert "Recorded by Ada." in page and "steams a lot" in page
    assert "21 May 2026: 1½ bags, Bela" in page
    assert "On 3 May 2026 a load of horse manure came to Lane Side that may carry a weedkiller." in page
    assert "Bags that were fetched between 20 May 2026 and " in page
    assert "It lies now in Bay 1. Please take nothing out there." in page
    assert "no-store" in answer["Cache-Control"]


def test_who_gave_it_is_set_beside_the_entry(browser: Client, where: str, load: Entry, site: Site) -> None:
    stable = Donor.objects.create(kind="stable", organisation="Hobb Stables", contact="Kit at the gate")
    far = Donor.objects.create(kind="cafe", organisation="Far Cup", site=Site.objects.create(name="Far"))
    before = (Ledger.objects.get().chain, Entry.objects.values_list("fingerprint", "chain", "details").get())
    page = browser.post(f"{where}giver/", {"giver": str(stable.uid)}, follow=True).content.decode()
    assert "Hobb Stables" in page and "Kit at the gate" in page
    assert (Ledger.objects.get().chain, Entry.objects.values_list("fingerprint", "chain", "details").get()) == before
    for odd in (str(far.uid), "nobody at all"):
        page = browser.post(f"{where}giver/", {"giver": odd}, follow=True).content.decode()
        assert "This one does not give at this site." in page
        assert Entry.objects.get().donor == stable
    browser.post(f"{where}giver/", {"giver": ""})
    assert Entry.objects.get().donor is None


def test_beans_are_sown_and_read(browser: Client, where: str, load: Entry, bay: Bay, coordinator: Member) -> None:
    assert "No beans have been sown" in browser.get(where).content.decode()
    browser.post(f"{where}bean-tests/add/", {"sown_on": "2026-05-06", "read_on": "", "result": "", "words": "6 pots"})
    test = BeanTest.objects.get()
    assert (test.entry, test.sown_on, test.person) == (load, date(2026, 5, 6), coordinator)
    assert "growing since 6 May 2026" in browser.get(where).content.decode()
    heap = browser.get(f"/heaps/{bay.uid}/").content.decode()
    assert "growing since 6 May 2026" in heap and "6 pots" not in heap and where in heap
    read = {"sown_on": "2026-05-06", "read_on": "2026-05-27", "result": "badly", "words": "like spoons"}
    browser.post(f"{where}bean-tests/{test.pk}/", read)
    assert "cupped or twisted leaves, or no growth, looked at on 27 May 2026" in browser.get(where).content.decode()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"sown_on": ""}, "The day is missing. Type it like 2026-05-03."),
        ({"sown_on": "May"}, "This day cannot be read. Type it like 2026-05-03."),
        ({"sown_on": "2999-01-01"}, "This day has not come yet. Check it."),
        ({"read_on": "2026-05-05"}, "This is before they were sown. Check both days."),
        ({"result": ""}, "Say how they grew, or leave the day empty while they grow."),
        ({"read_on": ""}, "Say on which day you looked at them."),
        ({"result": "splendid"}, "Choose one from the list."),
    ],
)
def test_a_wrong_bean_test_is_not_kept(browser: Client, where: str, wrong: dict[str, str], says: str) -> None:
    said = {"sown_on": "2026-05-06", "read_on": "2026-05-27", "result": "well", "words": "like spoons", **wrong}
    page = browser.post(f"{where}bean-tests/add/", said).content.decode()
    assert says in page and 'value="like spoons"' in page
    assert not BeanTest.objects.exists()


def test_only_a_load_has_such_a_page(browser: Client, where: str, keep: Any, bay: Bay, at: At) -> None:
    uid = keep("water", bay, at(5, 4), volume_ml=1_000).uid
    for more in ("", "bean-tests/add/"):
        assert browser.get(f"/loads/{uid}/{more}").status_code == 404
    assert browser.post(f"/loads/{uid}/giver/").status_code == 404
    other = keep("dropoff", bay, at(5, 5), **MANURE).uid
    test = BeanTest.objects.create(entry=Entry.objects.get(uid=other), sown_on=date(2026, 5, 6))
    assert browser.get(f"{where}bean-tests/{test.pk}/").status_code == 404


def test_the_ways_to_it(browser: Client, where: str, bay: Bay, client_of: ClientOf, member: Member) -> None:
    assert where in browser.get(f"/heaps/{bay.uid}/").content.decode()
    assert where in browser.get("/tray/?day=2026-05-03").content.decode()
    assert where not in client_of(member).get(f"/heaps/{bay.uid}/").content.decode()


def test_the_words_of_a_bean_test_go_with_whoever_wrote_them_or_after_their_time(load: Entry) -> None:
    zuleika = Member.objects.create_member("zu", "Zuleika Qwexby", "xylophone in the shed")
    today = timezone.now().date()
    for sown_on, person, words in ((today, zuleika, "vermilion"), (today - timedelta(days=800), None, "cerulean")):
        BeanTest.objects.create(entry=load, sown_on=sown_on, person=person, words=words)
    assert "vermilion" in "".join(leaving.everything(zuleika, timezone.now()))
    leaving.erase(zuleika.pk)
    assert "ermilion" not in dump() and "Zuleika" not in dump() and "cerulean" in dump()
    run()
    assert "cerulean" not in dump()
    assert BeanTest.objects.count() == 2
