"""The register of who gives: plain forms, no private names, and erasing on request."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from heaps.models import Donor, Entry, Site
from members.models import Member

pytestmark = pytest.mark.ledger
STABLE = {"kind": "stable", "organisation": "Hobb Stables", "site": "", "contact": "Kit", "gives": "on"}


@pytest.fixture
def browser(client_of: Callable[[Member | None], Client], coordinator: Member) -> Client:
    return client_of(coordinator)


def test_one_who_gives_is_added_and_changed(browser: Client, site: Site) -> None:
    assert browser.post("/set-up/donors/add/", STABLE)["Location"] == "/set-up/donors/"
    donor = Donor.objects.get()
    assert (str(donor), donor.contact, donor.site, donor.gives) == ("Hobb Stables", "Kit", None, True)
    assert "Hobb Stables" in browser.get("/set-up/donors/").content.decode()
    changed = {**STABLE, "site": site.pk, "gives": ""}
    page = browser.post(f"/set-up/donors/{donor.uid}/", changed, follow=True).content.decode()
    donor.refresh_from_db()
    assert "Kept." in page and (donor.site, donor.gives) == (site, False)
    assert "no more" in browser.get("/set-up/donors/").content.decode()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"organisation": ""}, "The name is missing. Type it, like Hobb Stables."),
        ({"organisation": "x" * 61}, "must be at most 60 characters"),
        ({"kind": ""}, "Kind is missing. Choose one from the list."),
        ({"kind": "circus"}, "Choose one from the list."),
        ({"site": "999"}, "Choose one from the list."),
        ({"kind": "households", "contact": ""}, "Households stand together, without a name. Leave this empty."),
        ({"kind": "households", "organisation": ""}, "Households stand together, without a contact."),
    ],
)
def test_a_wrong_one_is_not_kept_and_the_form_says_why(
    browser: Client, site: Site, wrong: dict[str, str], says: str
) -> None:
    page = browser.post("/set-up/donors/add/", {**STABLE, **wrong}).content.decode()
    assert says in page
    assert not Donor.objects.exists()
    assert "contact" in wrong or 'value="Kit"' in page, "what was typed stays"


def test_the_same_one_stands_once(browser: Client, site: Site) -> None:
    for _time in range(2):
        page = browser.post("/set-up/donors/add/", STABLE).content.decode()
    assert "This one stands in the list already." in page
    assert Donor.objects.count() == 1


def test_contact_and_name_go_when_they_ask(browser: Client, site: Site) -> None:
    browser.post("/set-up/donors/add/", STABLE)
    donor = Donor.objects.get()
    page = browser.post(f"/set-up/donors/{donor.uid}/erase/", {"says": "contact"}, follow=True).content.decode()
    donor.refresh_from_db()
    assert "The contact is erased." in page and (donor.contact, donor.organisation) == ("", "Hobb Stables")
    page = browser.post(f"/set-up/donors/{donor.uid}/erase/", {"says": "name"}, follow=True).content.decode()
    assert "Stable or farm, name not kept" in page and "Hobb" not in page
    browser.post(f"/set-up/donors/{donor.uid}/", STABLE)
    donor.refresh_from_db()
    assert (donor.organisation, donor.contact, donor.gives) == ("", "", False), "nobody writes the name back"


def test_a_coordinator_of_one_site_sees_its_own_and_reads_those_of_every_site(
    client_of: Callable[[Member | None], Client], steward: Member, site: Site, other_site: Site
) -> None:
    names = {"Every Cup": None, "Near Cup": site, "Far Cup": other_site}
    uids = [Donor.objects.create(kind="cafe", organisation=name, site=place).uid for name, place in names.items()]
    browser = client_of(steward)
    page = browser.get("/set-up/donors/").content.decode()
    assert "Near Cup" in page and "Every Cup" in page and "Far Cup" not in page
    assert [browser.get(f"/set-up/donors/{uid}/").status_code for uid in uids] == [403, 200, 403]
    assert (
        "Choose one from the list."
        in browser.post("/set-up/donors/add/", {**STABLE, "site": other_site.pk}).content.decode()
    )
    assert "choose" in browser.post("/set-up/donors/add/", STABLE).content.decode().lower()
    assert Donor.objects.count() == 3
    browser.post("/set-up/donors/add/", {**STABLE, "site": site.pk})
    assert Donor.objects.count() == 4


def test_the_year_by_kind_names_nobody(
    keep, bay, at, client_of: Callable[[Member | None], Client], treasurer: Member, site: Site
) -> None:
    coffee = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
    keep("dropoff", bay, at(5, 1), weighed_g=4_000, **coffee), keep("dropoff", bay, at(5, 2), weighed_g=1_500, **coffee)
    cafe = Donor.objects.create(kind="cafe", organisation="Long Cup", contact="Kit")
    Entry.objects.filter(pk=Entry.objects.earliest("pk").pk).update(donor=cafe)
    page = client_of(treasurer).get("/year/2026/who-gave/").content.decode()
    assert "Cafe or kitchen" in page and "4.000 kg" in page and "Nobody named" in page and "1.500 kg" in page
    (foot,) = re.findall("<tfoot>.*</tfoot>", page, re.DOTALL)
    assert "Together" in foot and "5.500 kg" in foot and ">2<" in foot
    assert "Long Cup" not in page and "Kit" not in page


def test_one_line_needs_no_sum(keep, bay, at, client_of, coordinator: Member) -> None:
    load = keep("dropoff", bay, at(5, 1), feedstock="coffee", half_containers=2, container_ml=10_000)
    cafe = Donor.objects.create(kind="cafe", organisation="Long Cup")
    Entry.objects.filter(uid=load.uid).update(donor=cafe)
    page = client_of(coordinator).get(f"/set-up/donors/{cafe.uid}/").content.decode()
    assert "<tbody>" in page and "<tfoot>" not in page
