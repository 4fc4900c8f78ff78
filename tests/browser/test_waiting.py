"""What waits on a phone: it outlives everything, and only a receipt ends its wait."""

import json

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.browser.steps import (
    open_recording,
    record_coffee,
    setting,
    sign_in,
    sign_out,
    stored,
    wait_until,
)
from tests.serving import PASSWORD, Server

pytestmark = pytest.mark.browser

#: Every line that says what waits, for whoever comes too late to see one.
NOTE_STATES = """() => {
    globalThis.states = [];
    const line = document.getElementById("state");
    new MutationObserver(() => states.push(line.textContent)).observe(line, { childList: true });
}"""

WHO = "select m.username from heaps_entry e join members_member m on m.id = e.person_id"
SPOIL_THE_FIRST = """async () => {
    const base = await new Promise((done) => {
        indexedDB.open('heaps', 1).onsuccess = ({target}) => done(target.result);
    });
    const store = base.transaction('waiting', 'readwrite').objectStore('waiting');
    store.getAll().onsuccess = ({target}) => {
        const one = target.result[0];
        one.entry.details.half_containers = 4000;
        store.put(one);
    };
    await new Promise((done) => { store.transaction.oncomplete = done; });
}"""


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 500, "body": "broken"},
        {"status": 502, "content_type": "text/html", "body": "<html>Bad gateway</html>"},
        {"status": 302, "headers": {"Location": "/sign-in/"}, "body": ""},
        {"status": 413, "content_type": "application/json", "body": '{"reason": "too much"}'},
        {"status": 403, "content_type": "text/html", "body": "<html>No</html>"},
        {"status": 200, "content_type": "text/html", "body": "<html>Please sign in to this network</html>"},
        {"status": 429, "headers": {"Retry-After": "1"}, "body": ""},
        {"status": 200, "content_type": "application/json", "body": '{"wire": 1, "receipts": []}'},
        {"status": 200, "content_type": "application/json", "body": '{"wire": 2, "receipts": []}'},
        {
            "status": 200,
            "content_type": "application/json",
            "body": '{"wire": 1, "receipts": [{"uid": "5f0f1a52-4d6b-4c53-9f00-000000000000", "state": "accepted"}]}',
        },
    ],
    ids=[
        "broken",
        "gateway",
        "sign-in page",
        "too large",
        "forbidden",
        "captive portal",
        "busy",
        "no receipts",
        "newer wire",
        "someone else's receipt",
    ],
)
def test_no_other_answer_than_a_receipt_ends_the_wait(page: Page, server: Server, answer: dict[str, object]) -> None:
    sign_in(page, server)

    posts: list[str] = []

    def reply(route: Route) -> None:
        if route.request.method == "POST":
            posts.append(route.request.url)
            route.fulfill(**answer)  # type: ignore[arg-type]  # of the type it asks for
        else:
            route.continue_()

    page.route("**/sync/", reply)
    record_coffee(page)
    wait_until(page, lambda: len(posts) > 0)
    page.wait_for_timeout(200)
    expect(page.locator("#state")).to_contain_text("1 waiting")
    expect(page.locator("#entries")).to_contain_text("kept on this phone, waiting")
    page.unroute("**/sync/")
    page.locator("#send-now").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 1


def test_without_sign_in_it_waits_and_is_claimed_once_after_a_question(page: Page, server: Server) -> None:
    record_coffee(page)
    expect(page.locator("#state a")).to_have_text("Sign in to send 1 entry")
    sign_in(page, server)
    expect(page.locator("#yours")).to_contain_text("Are they yours?")
    assert server.entries == 0
    page.locator("#yours-yes").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 1


def test_an_entry_said_not_to_be_mine_stays_for_the_next_person(page: Page, server: Server) -> None:
    record_coffee(page)
    sign_in(page, server, "ada")
    page.locator("#yours-no").tap()
    expect(page.locator("#yours")).to_be_hidden()
    sign_out(page, server)
    sign_in(page, server, "bela")
    page.locator("#yours-yes").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows(WHO) == [("bela",)]


def test_whoever_said_too_quickly_that_it_is_not_theirs_can_still_take_it(page: Page, server: Server) -> None:
    record_coffee(page)
    sign_in(page, server, "ada")
    page.locator("#yours-no").tap()
    expect(page.locator("#yours")).to_be_hidden()
    page.goto(f"{server.url}/drop-off/kept/")
    expect(page.locator("#entries")).to_contain_text("you said it is not yours")
    page.get_by_role("button", name="It is mine after all").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    expect(page.locator("#entries")).to_contain_text("Nothing waits on this phone")
    assert server.rows(WHO) == [("ada",)]


def test_one_persons_entries_never_go_as_anothers(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    sign_out(page, server)
    page.unroute("**/sync/")
    sign_in(page, server, "bela")
    expect(page.locator("#entries")).to_contain_text("waiting for the person who recorded it")
    assert server.entries == 0
    sign_out(page, server)
    sign_in(page, server, "ada")
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows(WHO) == [("ada",)]


@pytest.mark.parametrize("lost", [True, False], ids=["which lost it", "which still has it"])
def test_a_restored_server_is_offered_again_what_it_had(page: Page, server: Server, lost: bool) -> None:
    sign_in(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    if lost:
        server.rows("delete from heaps_entry")
        server.rows("update heaps_ledger set entries = 0, chain = ?", "0" * 64)
    server.rows("update heaps_ledger set epoch = ?", "0" * 31 + "1")
    requests: list[str] = []
    page.on("request", lambda request: requests.append(f"{request.method} {request.url}"))
    page.reload()
    wait_until(page, lambda: setting(page, "epoch") == "00000000-0000-0000-0000-000000000001")
    expect(page.locator("#state")).to_contain_text("All sent")
    wait_until(page, lambda: stored(page, "waiting") == [])
    assert f"POST {server.url}/sync/" in requests
    assert server.entries == 1
    assert len(stored(page, "journal")) == 1


def test_what_was_sent_is_remembered_without_a_name_or_words(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.locator("#more summary").tap()
    page.fill("[name=words]", "From Ada's own garden")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    kept = stored(page, "journal")
    assert len(kept) == 1
    assert "Ada" not in json.dumps(kept)
    assert kept[0]["entry"]["words"] == ""
    assert stored(page, "waiting") == []


def test_two_pages_of_one_phone_send_each_entry_once(page: Page, phone: BrowserContext, server: Server) -> None:
    sign_in(page, server)
    phone.set_offline(True)
    for _ in range(3):
        record_coffee(page)
    second = phone.new_page()
    open_recording(second, server)
    record_coffee(second)
    phone.set_offline(False)
    wait_until(page, lambda: server.entries == 4)
    for one in (page, second):
        expect(one.locator("#state")).to_contain_text("All sent")
    assert server.entries == 4


def test_a_full_phone_says_not_kept_and_leaves_what_was_typed(page: Page, server: Server) -> None:
    page.evaluate(
        "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('Full.', 'QuotaExceededError'); }; }"
    )
    page.locator("#materials label", has_text="Coffee").tap()
    page.locator("#more summary").tap()
    page.fill("[name=words]", "half of it wet")
    page.locator("#keep").tap()
    expect(page.get_by_role("alert")).to_contain_text("Not kept")
    expect(page.locator("#kept")).to_be_hidden()
    expect(page.locator("[name=words]")).to_have_value("half of it wet")
    assert stored(page, "waiting") == []


def test_a_refused_entry_needs_its_person_and_holds_up_no_other(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    record_coffee(page)
    page.evaluate(SPOIL_THE_FIRST)
    page.unroute("**/sync/")
    page.locator("#send-now").tap()
    expect(page.locator("#state")).to_contain_text("1 needs you")
    assert server.entries == 1
    row = page.locator("#entries > li").first
    expect(row).to_contain_text("from 1 to 400")
    row.get_by_role("button", name="Correct").tap()
    page.fill("[name=half_containers]", "2")
    page.locator("#keep").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 2


def test_a_session_that_ended_while_entries_wait_costs_a_sign_in_and_nothing_else(page: Page, server: Server) -> None:
    sign_in(page, server)
    server.rows("delete from members_session")
    record_coffee(page)
    record_coffee(page)
    expect(page.locator("#state a")).to_have_text("Sign in to send 2 entries")
    assert server.entries == 0
    page.locator("#state a").tap()
    page.fill("[name=username]", "ada")
    page.fill("[name=password]", PASSWORD)
    page.locator("main form button[type=submit]").click()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 2


def test_a_lost_token_is_fetched_once_more_and_nobody_notices(
    page: Page, phone: BrowserContext, server: Server
) -> None:
    sign_in(page, server)
    asked: list[tuple[str, int]] = []
    page.on("response", lambda answer: "/sync/" in answer.url and asked.append((answer.request.method, answer.status)))

    def lose_it_the_first_time(route: Route) -> None:
        if route.request.method == "POST" and not [one for one in asked if one[0] == "POST"]:
            phone.clear_cookies(name="csrf")
        route.continue_()

    page.route("**/sync/", lose_it_the_first_time)
    page.evaluate(NOTE_STATES)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert "did not take them" not in page.evaluate("states.join()"), "it waited, and went half a minute later"
    assert asked == [("GET", 200), ("POST", 403), ("GET", 200), ("POST", 200)]
    assert server.entries == 1


def test_what_the_next_person_records_at_once_is_not_the_last_ones(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    sign_out(page, server)
    page.route("**/sync/", lambda route: route.abort())
    page.goto(f"{server.url}/sign-in/?next=/drop-off/")
    page.fill("[name=username]", "bela")
    page.fill("[name=password]", PASSWORD)
    page.locator("main form button[type=submit]").click()
    page.wait_for_url(f"{server.url}/drop-off/")
    record_coffee(page)
    page.unroute("**/sync/")
    page.locator("#send-now").tap()
    page.locator("#yours-yes").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows(WHO) == [("bela",)]
