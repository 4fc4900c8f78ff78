"""The printed code holds the address of the bay's page for everybody, and nothing else."""

import re
from urllib.parse import unquote

import segno
from django.test import Client
from django.urls import reverse

from heaps.models import Bay, Site


def test_the_code_holds_the_address_alone(client_of, steward, bay: Bay) -> None:
    page = client_of(steward).get(reverse("heaps:bay_code", args=[bay.uid])).content.decode()
    address = "http://testserver" + reverse("heaps:public_bay", args=[bay.site.uid, bay.uid])
    picture = re.search(r'<img class="code" src="([^"]+)"', page)
    assert picture
    drawn = segno.make(address, error="q", micro=False).svg_data_uri(border=4, scale=8, light="#fff")
    assert unquote(picture[1].replace("&#x27;", "'").replace("&amp;", "&")) == unquote(drawn)
    assert address in page
    assert "It must begin with" in page and '<p class="host">testserver</p>' in page


def test_a_site_has_a_sheet_for_each_bay(client_of, coordinator, site: Site) -> None:
    page = client_of(coordinator).get(reverse("heaps:site_codes", args=[site.uid])).content.decode()
    assert page.count('class="sheet') == 3
    assert [name in page for name in ("<h2>Bay 1</h2>", "<h2>Bay 2</h2>", "<h2>Leaf bin</h2>")] == [True] * 3


def test_whoever_opens_what_the_code_says_is_signed_in_nowhere(bay: Bay) -> None:
    browser = Client()
    browser.get(reverse("heaps:public_bay", args=[bay.site.uid, bay.uid]))
    assert not browser.cookies
    assert browser.get(reverse("heaps:board")).status_code == 302
