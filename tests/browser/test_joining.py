"""Joining at the gate, a second phone, a lost phone, a shared phone: on screens 360 px wide."""

import re
from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect

from tests import chromium
from tests.browser.steps import (
    open_recording,
    record_coffee,
    setting,
    sign_in,
    sign_out,
    stored,
    wait_until_known,
)
from tests.serving import Server

pytestmark = pytest.mark.browser

NewPage = Callable[[], Page]


@pytest.fixture
def another(browser: Browser, server: Server) -> Iterator[NewPage]:
    """A page on a further phone."""
    phones: list[BrowserContext] = []

    def take() -> Page:
        phones.append(chromium.new_phone(browser))
        return phones[-1].new_page()

    yield take
    for phone in phones:
        phone.close()


def fits(page: Page) -> bool:
    """Whether nothing sticks out at the side, and every button is large enough for a thumb."""
    return bool(
        page.evaluate(
            """() => document.documentElement.scrollWidth <= innerWidth
                && [...document.querySelectorAll("main button, main .button")].filter((one) => one.offsetParent)
                    .every((one) => one.getBoundingClientRect().height >= 48)"""
        )
    )


def words_shown(page: Page) -> str:
    return " ".join(page.locator(".told span").all_inner_texts())


def invite(page: Page, server: Server, way: str = "At the gate now") -> None:
    """The coordinator, signed in, makes an invitation."""
    page.goto(f"{server.url}/people/invite/")
    assert fits(page)
    page.get_by_role("button", name=way).tap()
    page.locator("img.scan").wait_for()
    assert fits(page)


def come_in_by_words(page: Page, server: Server, words: str) -> None:
    page.goto(f"{server.url}/sign-in/")
    page.get_by_role("link", name="I was given words").tap()
    page.get_by_label("Your four words").fill(words)
    assert fits(page)
    page.get_by_role("button", name="Go on").tap()


def recorded_by(server: Server) -> list[str]:
    """Who recorded each entry, in the order of arrival."""
    asked = "select m.username from heaps_entry e left join members_member m on m.id = e.person_id order by e.id"
    return [name for (name,) in server.rows(asked)]


def test_two_newcomers_join_at_the_gate_by_link_and_by_words(page: Page, server: Server, another: NewPage) -> None:
    sign_in(page, server, "cleo")
    invite(page, server)
    assert page.locator("img.scan").evaluate("(one) => one.complete && one.naturalWidth > 200")
    assert page.locator(".host").inner_text() == server.url.removeprefix("http://")
    rosa = another()
    told: list[Request] = []
    rosa.on("request", lambda one: told.append(one))
    link = page.get_by_label("The link").input_value()
    rosa.goto(link)
    assert fits(rosa)
    rosa.get_by_label("What shall we call you?").fill("Rosa")
    rosa.get_by_role("button", name="Join").tap()
    expect(rosa.get_by_role("heading", name="Welcome, Rosa")).to_be_visible()
    assert fits(rosa)
    secret = link.split("/")[-2]
    assert [one.url for one in told if secret in one.all_headers().get("referer", "")] == []
    rosa.get_by_role("link", name="Record what you bring").tap()
    wait_until_known(rosa)
    record_coffee(rosa)
    expect(rosa.locator("#state")).to_contain_text("All sent")
    rosa.goto(link)
    expect(rosa.get_by_role("heading", name="This link lets nobody in")).to_be_visible()
    invite(page, server, "A link to send")
    sam = another()
    come_in_by_words(sam, server, words_shown(page).upper().replace(" ", "-"))
    sam.get_by_label("What shall we call you?").fill("Sam")
    sam.get_by_role("button", name="Join").tap()
    expect(sam.get_by_role("heading", name="Welcome, Sam")).to_be_visible()
    assert recorded_by(server) == ["rosa"]
    assert server.rows("select count(*) from members_member where is_coordinator and username in ('rosa', 'sam')") == [
        (0,)
    ]


def test_what_was_recorded_before_joining_is_claimed_after_a_question(
    page: Page, server: Server, another: NewPage
) -> None:
    rosa = another()
    open_recording(rosa, server)
    record_coffee(rosa)
    sign_in(page, server, "cleo")
    invite(page, server)
    come_in_by_words(rosa, server, words_shown(page))
    rosa.get_by_label("What shall we call you?").fill("Rosa")
    rosa.get_by_role("button", name="Join").tap()
    rosa.get_by_role("link", name="Record what you bring").tap()
    rosa.get_by_role("button", name=re.compile("mine|I recorded|yes", re.IGNORECASE)).first.tap()
    expect(rosa.locator("#state")).to_contain_text("All sent")
    assert recorded_by(server) == ["rosa"]


def test_a_second_phone_comes_in_by_the_link(page: Page, server: Server, another: NewPage) -> None:
    sign_in(page, server, "ada")
    page.goto(f"{server.url}/me/")
    page.get_by_role("link", name="Another phone of mine").tap()
    page.get_by_role("button", name="Make a code and words").tap()
    second = another()
    second.goto(page.get_by_label("The link").input_value())
    assert "Ada" not in second.locator("body").inner_text()
    assert fits(second)
    second.get_by_role("button", name="Come in").tap()
    expect(second.get_by_role("heading", name="Welcome, Ada")).to_be_visible()
    second.get_by_role("link", name="Record what you bring").tap()
    wait_until_known(second)
    record_coffee(second)
    expect(second.locator("#state")).to_contain_text("All sent")
    open_recording(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert recorded_by(server) == ["ada", "ada"]


def test_a_lost_phone_is_ended_and_what_waits_on_it_stays(page: Page, server: Server, another: NewPage) -> None:
    sign_in(page, server, "ada")
    page.context.set_offline(True)
    record_coffee(page)
    cleo, new = another(), another()
    sign_in(cleo, server, "cleo")
    cleo.goto(f"{server.url}/people/")
    assert fits(cleo)
    cleo.get_by_role("link", name="A new phone for Ada").tap()
    cleo.get_by_label("The old phone is lost").check()
    assert fits(cleo)
    cleo.get_by_role("button", name="Give words for a new phone").tap()
    cleo.locator("img.scan").wait_for()
    come_in_by_words(new, server, words_shown(cleo))
    expect(new.get_by_role("heading", name="Welcome, Ada")).to_be_visible()
    assert server.rows("select count(*) from members_device d join members_member m on m.id = d.member_id "
                       "where m.username = 'ada' and ended_at is not null") == [(1,)]  # fmt: skip
    assert len(stored(page, "waiting")) == 1
    page.context.set_offline(False)
    assert page.request.get(f"{server.url}/me/", max_redirects=0).status == 302
    assert "ada" not in recorded_by(server)


def test_two_people_on_one_phone_each_send_as_themselves(page: Page, server: Server, another: NewPage) -> None:
    sign_in(page, server, "ada")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    sign_out(page, server)
    bela = another()
    sign_in(bela, server, "bela")
    bela.goto(f"{server.url}/me/another-phone/")
    bela.get_by_role("button", name="Make a code and words").tap()
    link = bela.get_by_label("The link").input_value()
    sign_in(page, server, "ada")
    page.goto(link)
    expect(page.get_by_role("heading", name="Ada is signed in here")).to_be_visible()
    assert fits(page)
    page.get_by_role("button", name="Sign Ada out, and come back here").tap()
    page.get_by_role("button", name="Come in").tap()
    expect(page.get_by_role("heading", name="Welcome, Bela")).to_be_visible()
    assert setting(page, "person") is None
    page.get_by_role("link", name="Record what you bring").tap()
    wait_until_known(page)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert recorded_by(server) == ["ada", "bela"]
