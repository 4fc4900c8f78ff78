"""Passkeys in a real browser with a lock of its own: made, one tap signs in, shown before what matters, taken away."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, CDPSession, Page, expect

from tests.browser.steps import sign_in, sign_out
from tests.serving import Server

pytestmark = pytest.mark.browser

LOCK = {
    "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
    "isUserVerified": True, "automaticPresenceSimulation": True,
}  # fmt: skip
DUMP = """async () => {
    const found = [JSON.stringify({...localStorage}), JSON.stringify({...sessionStorage}), document.cookie];
    for (const { name } of await indexedDB.databases()) {
        const base = await new Promise((done) => {
            indexedDB.open(name).onsuccess = ({target}) => done(target.result);
        });
        for (const store of base.objectStoreNames) {
            found.push(JSON.stringify(await new Promise((done) => {
                base.transaction(store).objectStore(store).getAll().onsuccess = ({target}) => done(target.result);
            })));
        }
        base.close();
    }
    for (const name of await caches.keys()) {
        const kept = await caches.open(name);
        for (const asked of await kept.keys()) {
            if (!asked.url.includes("/static/")) found.push(asked.url, await (await kept.match(asked)).text());
        }
    }
    return found.join("\\n");
}"""


@dataclass
class PhoneLock:
    """What the virtual authenticator knows."""

    talk: CDPSession
    number: str

    def keys(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self._ask("WebAuthn.getCredentials")["credentials"]
        return found

    def closed(self) -> None:
        """Nobody opens it any more."""
        self._ask("WebAuthn.setUserVerified", isUserVerified=False)

    def _ask(self, what: str, **more: Any) -> Any:
        return self.talk.send(what, {"authenticatorId": self.number, **more})


@pytest.fixture
def tab(phone: BrowserContext, server: Server) -> Page:
    return phone.new_page()


@pytest.fixture
def lock(phone: BrowserContext, tab: Page) -> Iterator[PhoneLock]:
    talk = phone.new_cdp_session(tab)
    talk.send("WebAuthn.enable")
    number = talk.send("WebAuthn.addVirtualAuthenticator", {"options": LOCK})["authenticatorId"]
    yield PhoneLock(talk, number)


def make_passkey(tab: Page, server: Server, username: str = "ada") -> None:
    sign_in(tab, server, username)
    tab.goto(f"{server.url}/me/passkeys/")
    tab.get_by_role("button", name="Use this phone's lock").tap()
    expect(tab.get_by_role("status").first).to_contain_text("one tap signs you in")


def test_one_tap_signs_in(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    sign_out(tab, server)
    tab.goto(f"{server.url}/sign-in/?next=/me/passkeys/")
    button = tab.get_by_role("button", name="Sign in with this phone")
    box = button.bounding_box()
    assert box and box["y"] + box["height"] <= 740  # no need to move the page first
    button.tap()
    tab.wait_for_url(f"{server.url}/me/passkeys/")
    expect(tab.locator("main")).to_contain_text("Last used")
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360


def test_a_second_key_on_the_same_phone_is_not_made(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    tab.get_by_role("button", name="Use this phone's lock").tap()
    expect(tab.locator("[data-when=known]")).to_be_visible()
    assert len(lock.keys()) == 1


def test_a_key_taken_away_no_longer_works(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    tab.get_by_role("button", name="Take it away").tap()
    expect(tab.locator("main")).to_contain_text("None yet.")
    sign_out(tab, server)
    tab.goto(f"{server.url}/sign-in/")
    tab.get_by_role("button", name="Sign in with this phone").tap()
    expect(tab.get_by_role("alert")).to_contain_text("That did not work.")
    assert len(lock.keys()) == 1


def test_a_lock_that_stays_closed_signs_nobody_in(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    sign_out(tab, server)
    lock.closed()
    tab.goto(f"{server.url}/sign-in/")
    tab.get_by_role("button", name="Sign in with this phone").tap()
    expect(tab.locator("[data-when=stopped]")).to_be_visible()
    expect(tab.get_by_role("link", name="I was given words")).to_be_visible()


def test_it_is_shown_once_more_before_a_file(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    server.rows("update members_member set is_treasurer = 1 where username = 'ada'")
    tab.goto(f"{server.url}/year/2026/")
    tab.get_by_role("link", name="Take it as a table").tap()
    expect(tab.get_by_role("heading", name="Is it you?")).to_be_visible()
    tab.get_by_role("button", name="Show it with this phone").tap()
    expect(tab.get_by_role("status").first).to_contain_text("Ask for the file once more")
    with tab.expect_download() as taken:
        tab.get_by_role("link", name="Take it as a table").tap()
    assert taken.value.suggested_filename.endswith(".csv")
    assert tab.url == f"{server.url}/year/2026/"


def test_a_browser_without_keys_shows_the_other_ways(tab: Page, server: Server) -> None:
    tab.add_init_script("delete window.PublicKeyCredential")
    tab.goto(f"{server.url}/sign-in/")
    expect(tab.locator("[data-when=old]")).to_be_visible()
    expect(tab.get_by_role("button", name="Sign in with this phone")).to_be_hidden()
    expect(tab.get_by_role("link", name="I was given words")).to_be_visible()


def test_inside_another_app_it_says_what_to_do(phone: BrowserContext, tab: Page, server: Server) -> None:
    tab.add_init_script(
        "Object.defineProperty(navigator, 'userAgent', { get: () => 'Mozilla/5.0 (Linux; Android 14; wv)' })"
    )
    tab.goto(f"{server.url}/sign-in/")
    expect(tab.locator("[data-when=inside]")).to_contain_text("phone's own browser")


def test_an_answer_sent_again_is_refused(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    sign_out(tab, server)
    tab.goto(f"{server.url}/sign-in/?next=/me/passkeys/")
    with tab.expect_request(lambda one: one.method == "POST" and "/sign-in/?" in one.url) as sent:
        tab.get_by_role("button", name="Sign in with this phone").tap()
    tab.wait_for_url(f"{server.url}/me/passkeys/")
    answer = dict(part.split("=", 1) for part in (sent.value.post_data or "").split("&"))["answer"]
    sign_out(tab, server)
    tab.goto(f"{server.url}/sign-in/")
    tab.evaluate(
        """(answer) => { const form = document.querySelector("[data-passkey] form");
        form.elements.answer.value = decodeURIComponent(answer); form.submit(); }""",
        answer,
    )
    expect(tab.get_by_role("alert")).to_contain_text("That did not work.")


def test_after_signing_out_the_phone_holds_no_name_and_no_token(tab: Page, server: Server, lock: PhoneLock) -> None:
    make_passkey(tab, server)
    tab.goto(f"{server.url}/drop-off/")
    tab.locator("#entries > li").first.wait_for()
    number = lock.keys()[0]["credentialId"]
    ((uid,),) = server.rows("select uid from members_member where username = 'ada'")
    session = next(one["value"] for one in tab.context.cookies() if one["name"] == "session")
    sign_out(tab, server)
    found = tab.evaluate(DUMP)
    assert "/drop-off/" in found  # the dump sees what is kept
    for trace in ("Ada", '"ada"', number, session, uid, "@"):
        assert trace not in found, trace
