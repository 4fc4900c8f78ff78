"""A phone that is no longer signed in, or that somebody lends or gives away: nothing is lost, and nothing stays."""

import json
import uuid
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.steps import (
    open_recording,
    record_coffee,
    setting,
    sign_in,
    sign_out,
    stored,
    wait_until,
    write_words,
)
from tests.serving import PASSWORD, Server

pytestmark = pytest.mark.browser

WHO = "select m.username from heaps_entry e left join members_member m on m.id = e.person_id"
PARKED = "select m.username, p.reason from heaps_parked p left join members_member m on m.id = p.person_id"
HANDED_IN = "Handed in by a phone that is no longer signed in."
EVERYTHING = """async () => {
    const base = await new Promise((done) => {
        indexedDB.open('heaps', 1).onsuccess = ({target}) => done(target.result);
    });
    const all = {};
    for (const name of base.objectStoreNames) {
        const store = base.transaction(name).objectStore(name);
        for (const read of ['getAllKeys', 'getAll']) {
            all[`${name} ${read}`] = await new Promise((done) => {
                store[read]().onsuccess = ({target}) => done(target.result);
            });
        }
    }
    base.close();
    const bases = (await indexedDB.databases()).map((one) => one.name);
    const kept = [];
    for (const name of await caches.keys()) {
        const cache = await caches.open(name);
        for (const request of await cache.keys()) {
            kept.push(request.url);
            if (!request.url.includes('/static/')) kept.push(await (await cache.match(request)).text());
        }
    }
    return JSON.stringify([all, bases, kept, {...localStorage}, {...sessionStorage}, document.cookie]);
}"""


def end_everywhere(server: Server) -> None:
    """Sign everybody out, as somebody does who has lost their phone."""
    server.rows("delete from members_session")


def record_unsent(page: Page, server: Server, name: str, words: str = "") -> None:
    """Somebody signs in and records something that does not go, because there is no network."""
    sign_in(page, server, name)
    page.route("**/sync/", lambda route: route.abort())
    if words:
        write_words(page, words)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text(
        "No connection."
    )  # else it would go with the network that comes back
    page.unroute("**/sync/")


def hand_in(page: Page, server: Server) -> None:
    """Go to the sign-in page and hand in what waits."""
    page.goto(f"{server.url}/sign-in/")
    page.get_by_role("button", name="Hand in without signing in").tap()
    expect(page.locator("#hand-over-said")).to_contain_text("✓ Handed in")


def test_an_ended_device_hands_in_and_a_coordinator_takes_it_in(
    page: Page, server: Server, phone: BrowserContext
) -> None:
    record_unsent(page, server, "ada", "by the gate")
    end_everywhere(server)
    page.locator("#send-now").tap()
    expect(page.locator("#state a")).to_have_text("Sign in to send 1 entry")
    page.locator("#state a").tap()
    expect(page.locator("#hand-over")).to_contain_text("1 entry waits on this phone.")
    page.get_by_role("button", name="Hand in without signing in").tap()
    expect(page.locator("#hand-over-said")).to_have_text("✓ Handed in: 1 entry. A coordinator will look at it.")
    expect(page.locator("#hand-over")).to_be_hidden()
    assert server.rows(PARKED) == [("ada", HANDED_IN)]
    assert server.entries == 0
    assert stored(page, "waiting") == []
    assert [(one["state"], one["entry"]["words"]) for one in stored(page, "journal")] == [("parked", "")]
    sign_in(page, server, "cleo")
    page.goto(f"{server.url}/tray/")
    expect(page.locator("main")).to_contain_text("Recorded by Ada. “by the gate”")
    page.get_by_role("button", name="Take it in").tap()
    expect(page.locator("main")).to_contain_text("Settled.")
    assert server.rows(WHO) == [("ada",)]


def test_the_phone_of_somebody_who_has_left_hands_in_without_a_name(page: Page, server: Server) -> None:
    record_unsent(page, server, "ada", "Ada was here")
    ((number,),) = server.rows("select id from members_member where username = 'ada'")
    for table in ("session", "device"):
        server.rows(f"delete from members_{table}")
    server.rows("delete from members_member where id = ?", number)
    hand_in(page, server)
    assert server.rows(PARKED) == [(None, HANDED_IN)]
    assert "Ada" not in json.dumps(server.rows("select * from heaps_parked"))
    assert [name for name in json.loads(page.evaluate(EVERYTHING))[0]["settings getAllKeys"] if "key" in name] == []


def test_on_a_shared_phone_the_other_s_entries_are_never_the_one_s_who_is_signed_in(page: Page, server: Server) -> None:
    record_unsent(page, server, "ada")
    sign_out(page, server)
    sign_in(page, server, "bela")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting")
    assert server.rows(WHO) == [("bela",)]
    hand_in(page, server)
    assert server.rows(PARKED) == [("ada", HANDED_IN)]
    assert server.rows(WHO) == [("bela",)]


def test_a_server_that_does_not_take_it_loses_nothing(page: Page, server: Server) -> None:
    record_unsent(page, server, "ada")
    sign_out(page, server)
    page.route("**/sync/", lambda route: route.fulfill(status=429, json={"reason": "A lot was handed in today."}))
    page.get_by_role("button", name="Hand in without signing in").tap()
    expect(page.locator("#hand-over-said")).to_contain_text("Not handed in: 1 entry. A lot was handed in today.")
    assert len(stored(page, "waiting")) == 1
    page.unroute("**/sync/")
    page.get_by_role("button", name="Hand in without signing in").tap()
    expect(page.locator("#hand-over-said")).to_contain_text("✓ Handed in")
    assert server.rows(PARKED) == [("ada", HANDED_IN)]


def test_after_signing_out_the_phone_holds_no_name_no_address_and_no_key(
    page: Page, server: Server, phone: BrowserContext
) -> None:
    server.rows("update members_member set name = 'Adalind Quillfeather' where username = 'ada'")
    sign_in(page, server, "ada")
    ((uid,),) = server.rows("select uid from members_member where username = 'ada'")
    key = setting(page, f"key {uuid.UUID(uid)}")
    assert len(key) == 43
    write_words(page, "from the Quillfeather garden")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    for seen in ("heaps", "me", "me/devices", "guide", "drop-off"):
        page.goto(f"{server.url}/{seen}/")
    session = next(one["value"] for one in phone.cookies() if one["name"] == "session")
    sign_out(page, server)
    wait_until(page, lambda: setting(page, f"key {uuid.UUID(uid)}") is None)
    kept = page.evaluate(EVERYTHING) + json.dumps(phone.cookies())
    assert "drop-off" in kept and "journal" in kept
    for secret in ("Adalind", "Quillfeather", "ada.", "@", session, key):
        assert secret not in kept
    assert setting(page, "person") is None


def test_forgetting_takes_everything_off_the_phone_after_a_question(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    page.goto(f"{server.url}/me/devices/")
    page.get_by_role("button", name="Forget this phone").first.tap()
    expect(page.locator("#forget-what")).to_contain_text("cannot bring again what it sent")
    expect(page.locator("#forget-waiting")).to_be_hidden()
    assert len(stored(page, "journal")) == 1
    page.get_by_role("button", name="Yes, forget this phone").tap()
    page.wait_for_url("**/sign-out/")
    wait_until(page, lambda: stored(page, "settings") == [None])  # only that nobody is signed in
    assert [stored(page, name) for name in ("waiting", "journal")] == [[], []]
    seen = [url for url in json.loads(page.evaluate(EVERYTHING))[2] if url.startswith("http")]
    assert not [
        url for url in seen if not any(part in url for part in ("/static/", "/drop-off/", "/guide/"))
    ]  # nobody's
    open_recording(page, server)
    record_coffee(page)
    expect(page.locator("#state a")).to_have_text("Sign in to send 1 entry")


def test_what_waits_is_thrown_away_only_when_said_twice_and_can_be_saved_before(page: Page, server: Server) -> None:
    record_unsent(page, server, "ada")
    sign_out(page, server)
    page.get_by_role("button", name="Forget this phone").first.tap()
    expect(page.locator("#forget-waiting")).to_contain_text("1 entry waits on this phone.")
    page.get_by_text("Save it as a file").tap()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Save it as a file").tap()
    (letter,) = json.loads(Path(taken.value.path()).read_text())["letters"]
    assert json.loads(letter["text"])["entries"][0]["details"]["feedstock"] == "coffee"
    page.go_back()
    page.get_by_role("button", name="Forget this phone").first.tap()
    page.get_by_role("button", name="Yes, forget this phone").tap()
    expect(page.locator("#forget-really")).to_contain_text("Really throw 1 entry away?")
    assert len(stored(page, "waiting")) == 1, "once is not enough"
    page.get_by_role("button", name="No, leave everything").tap()
    expect(page.locator("#forget-what")).to_be_hidden()
    assert len(stored(page, "waiting")) == 1
    page.get_by_role("button", name="Forget this phone").first.tap()
    page.get_by_role("button", name="Yes, forget this phone").tap()
    page.get_by_role("button", name="Throw it away").tap()
    expect(page.locator("#forget-said")).to_contain_text("✓ Forgotten.")
    assert [stored(page, name) for name in ("waiting", "journal", "settings")] == [[], [], []]
    assert server.entries == 0


@pytest.mark.parametrize("first", ["ada", "bela"])
def test_what_was_recorded_before_any_sign_in_goes_to_whoever_says_yes(page: Page, server: Server, first: str) -> None:
    second = {"ada": "bela", "bela": "ada"}[first]
    record_coffee(page)
    for name in (first, second):
        sign_in(page, server, name)
        page.locator("#yours-no").tap()
        expect(page.locator("#yours")).to_be_hidden()
        expect(page.locator("#send-now")).to_be_hidden()  # there is nothing that may go
        expect(page.locator("#state")).to_contain_text("1 waiting")
        sign_out(page, server)
        expect(page.locator("#hand-over")).to_be_hidden()  # it is nobody's yet
    assert (server.entries, server.rows(PARKED)) == (0, [])
    sign_in(page, server, first)
    record_coffee(page)
    expect(page.locator("#entries")).to_contain_text("sent")
    expect(page.locator("#yours")).to_be_hidden()  # each is asked once
    assert server.rows(WHO) == [(first,)]
    assert len(stored(page, "waiting")) == 1


def test_a_lost_phone_is_signed_out_from_another_one(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    server.rows("insert into members_device (uid, member_id, label, signed_in_at, last_seen_at, waiting, missing)"
                " select ?, id, 'iPhone, Safari', datetime('now'), datetime('now'), 2, 0 from members_member"
                " where username = 'ada'", uuid.uuid4().hex)  # fmt: skip
    server.rows("insert into members_session (session_key, session_data, expire_date, device_id)"
                " select 'x', 'x', datetime('now', '+1 day'), max(id) from members_device")  # fmt: skip
    page.goto(f"{server.url}/me/devices/")
    page.get_by_role("button", name="Sign out there").tap()
    expect(page.locator("main")).to_contain_text(
        "It last spoke of 2 entries. They stay on it and can still be handed in."
    )
    assert server.rows("select count(*) from members_session where session_key = 'x'") == [(0,)]
    page.locator("main form").get_by_role("button", name="Sign out").tap()
    page.wait_for_url("**/sign-out/")
    page.goto(f"{server.url}/me/devices/")
    assert "/sign-in/" in page.url
    assert PASSWORD not in page.content()
