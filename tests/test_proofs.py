"""What asks for a young proof, and of what kind; and that nothing else exports or gives roles."""

from itertools import product
from typing import Any

import pytest
from django.db import transaction
from django.test import Client

from heaps.models import Site
from members.access import where_offered
from members.models import Member
from tests.conftest import prove
from tests.rows import BOOKKEEPING, digest_of_rows
from tests.test_access import (
    FULL_FORM,
    PAGES,
    ROLE_FIELDS,
    ROLES,
    Browsers,
    address,
    ask,
    browsers,
    first_title,
    lots,
    other_site,
    title,
    turned_away,
)

__all__ = ["browsers", "other_site"]  # fixtures, taken over as they are
#: A password proves enough for these. Words for a plain member are no more.
OWN_THINGS = ("everything", "leave", "members:new_phone-person")


@pytest.mark.parametrize("pages", lots([page for page in PAGES if "proof" in page]), ids=first_title)
@pytest.mark.parametrize("proof", [None, ("passkey", 15 * 60 + 1), ("words", 15 * 60 + 1), ("password", 15 * 60 + 1)])
def test_without_a_young_proof_nothing_is_shown_or_changed(
    pages: list[dict[str, Any]],
    proof: tuple[str, int] | None,
    browsers: Browsers,
    other_site: Site,
    other_member: Member,
) -> None:
    for page in pages:
        for role, method in product(ROLES, {"GET", "POST"} & page.keys()):
            if (role != "member" or page["proof"] is True) and not turned_away(page, method, role):
                must_be_sent_to_show_it(browsers[role], method, address(page, role), proof)


def must_be_sent_to_show_it(browser: Client, method: str, where: str, proof: tuple[str, int] | None) -> None:
    """A page that wants a proof leads to where it is shown; or a form sent comes back, and nothing has changed."""
    prove(browser, *(proof or ("nothing", 0)))
    before = digest_of_rows(without=BOOKKEEPING)
    answer = browser.get(where) if method == "GET" else browser.post(where, FULL_FORM)
    given_back = method == "POST" and answer.status_code == 200 and b"it is a while since" in answer.content
    assert given_back or answer["Location"].startswith("/confirm/?next=")
    assert digest_of_rows(without=BOOKKEEPING) == before


def test_every_file_that_wants_a_proof_says_on_which_page_it_is_offered(
    browsers: Browsers, other_site: Site, other_member: Member
) -> None:
    files = []
    for page in (page for page in PAGES if "proof" in page and "GET" in page):
        where = address(page, "administrator")
        answer = ask(browsers["administrator"], "GET", where)
        if "attachment" in answer.headers.get("Content-Disposition", ""):
            files.append(title(page))
            offered = ask(browsers["administrator"], "GET", where_offered(where) or "no page at all")
            assert offered.status_code == 200 and offered["Content-Type"].startswith("text/html"), where
        else:
            assert where_offered(where) == "", where
    assert files


@pytest.mark.parametrize("pages", lots([page for page in PAGES if "proof" in page]), ids=first_title)
def test_a_password_is_a_proof_for_one_s_own_things_only(
    pages: list[dict[str, Any]], browsers: Browsers, other_site: Site, other_member: Member
) -> None:
    for page, role in product(pages, ("coordinator", "treasurer", "administrator")):
        for method in {"GET", "POST"} & page.keys():
            if not turned_away(page, method, role):
                prove(browsers[role], "password")
                answer = ask(browsers[role], method, address(page, role))
                sent = answer.headers.get("Location", "").startswith("/confirm/")
                told = sent or b"it is a while" in answer.getvalue()
                assert told == (title(page) not in OWN_THINGS), (title(page), role, method)


def test_no_page_that_wants_no_proof_exports_or_gives_roles(
    browsers: Browsers, other_site: Site, other_member: Member
) -> None:
    before = list(Member.objects.order_by("pk").values_list("pk", "is_active", *ROLE_FIELDS))
    for role in ROLES[2:]:
        prove(browsers[role], "nothing")
        for page in (page for page in PAGES if "proof" not in page):
            where = address(page, role)
            assert "attachment" not in ask(browsers[role], "GET", where).headers.get("Content-Disposition", "")
            undo = transaction.savepoint()
            browsers[role].post(where, FULL_FORM)
            known = Member.objects.filter(pk__in=[row[0] for row in before]).order_by("pk")
            assert list(known.values_list("pk", "is_active", *ROLE_FIELDS)) == before, page
            assert not Member.objects.filter(name="Zed").exclude(**dict.fromkeys(ROLE_FIELDS, False)).exists(), page
            transaction.savepoint_rollback(undo)
