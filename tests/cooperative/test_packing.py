"""What is packed for whom: brotli for pages without cookies only, gzip or nothing for the rest."""

import gzip
from collections.abc import Callable

import brotli
import pytest
from django.test import Client

from heaps.models import Site
from members.models import Member

pytestmark = pytest.mark.django_db


def without_time(page: bytes) -> bytes:
    start = page.index(b'"as_of"')
    return page[:start] + page[page.index(b",", start) :]


def test_the_recording_page_comes_in_brotli_and_says_the_same(site: Site, client: Client) -> None:
    plain, packed = (client.get("/drop-off/", headers={"accept-encoding": how}) for how in ("identity", "gzip, br"))
    assert (plain.get("Content-Encoding"), packed["Content-Encoding"]) == (None, "br")
    assert int(packed["Content-Length"]) == len(packed.content)
    assert without_time(brotli.decompress(packed.content)) == without_time(plain.content)
    for answer in (plain, packed):
        assert "Accept-Encoding" in answer["Vary"], "whoever keeps it for others must ask anew"


@pytest.mark.parametrize("takes", ["gzip", "gzip, br;q=0", "gzip, br; q=0.0, deflate", "gzip, brown"])
def test_whoever_does_not_take_brotli_gets_gzip(client: Client, takes: str) -> None:
    answer = client.get("/drop-off/", headers={"accept-encoding": takes})
    assert answer["Content-Encoding"] == "gzip"
    assert b"What did you bring?" in gzip.decompress(answer.content)


@pytest.mark.parametrize("url", ["/heaps/", "/sign-in/"])
def test_a_page_that_looks_at_a_cookie_is_left_to_gzip_with_its_random_length(
    site: Site, member: Member, client_of: Callable[..., Client], url: str
) -> None:
    person = None if "sign-in" in url else member
    answer = client_of(person).get(url, headers={"accept-encoding": "gzip, br"})
    assert (answer.status_code, answer["Content-Encoding"]) == (200, "gzip")
