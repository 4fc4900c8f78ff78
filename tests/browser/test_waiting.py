"""What waits on a phone: it outlives everything, and only a receipt ends its wait."""

from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests import chromium
from tests.browser.conftest import SwitchOn
from tests.browser.steps import (
    open_recording,
    record_coffee,
    sign_in,
    sign_out,
    stored,
    wait_for_worker,
    wait_until,
)
from tests.serving import Server

pytestmark = pytest.mark.browser

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


def test_cold_start_without_network_keeps_and_later_sends_once(
    switch_on: SwitchOn, server: Server, memory: Path
) -> None:
    phone = switch_on()
    sign_in(phone.pages[0], server)
    wait_for_worker(phone.pages[0])
    phone.close()
    server.kill()

    phone = switch_on(offline=True)
    page = phone.pages[0]
    open_recording(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("1 waiting, kept on this phone")
    chromium.kill(memory)

    server.start()
    phone = switch_on()
    page = phone.pages[0]
    open_recording(page, server)
    if page.locator("#state a", has_text="Sign in").is_visible():  # a killed browser may lose a young cookie
        sign_in(page, server)
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 1


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 500, "body": "broken"},
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
    ids=["broken", "captive portal", "busy", "no receipts", "newer wire", "someone else's receipt"],
)
def test_no_other_answer_than_a_receipt_ends_the_wait(page: Page, server: Server, answer: dict[str, object]) -> None:
    sign_in(page, server)

    def reply(route: Route) -> None:
        if route.request.method == "POST":
            route.fulfill(**answer)  # type: ignore[arg-type]
        else:
            route.continue_()

    page.route("**/sync/", reply)
    record_coffee(page)
    page.wait_for_timeout(500)
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


def test_one_persons_entries_never_go_as_anothers(page: Page, server: Server) -> None:
    sign_in(page, server, "ada")
    page.route("**/sync/", lambda route: route.abort())
    record_coffee(page)
    page.unroute("**/sync/")
    sign_out(page, server)
    sign_in(page, server, "bela")
    expect(page.locator("#entries")).to_contain_text("waiting for the person who recorded it")
    assert server.entries == 0
    sign_out(page, server)
    sign_in(page, server, "ada")
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.rows(WHO) == [("ada",)]


def test_a_restored_server_is_offered_again_what_it_had(page: Page, server: Server) -> None:
    sign_in(page, server)
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    server.rows("delete from heaps_entry")
    server.rows("update heaps_ledger set epoch = ?, entries = 0, chain = ?", "0" * 31 + "1", "0" * 64)
    page.reload()
    expect(page.locator("#state")).to_contain_text("All sent")
    wait_until(lambda: server.entries == 1)


def test_what_was_sent_is_remembered_without_a_name_or_words(page: Page, server: Server) -> None:
    sign_in(page, server)
    page.locator("#more summary").tap()
    page.fill("[name=words]", "From Ada's own garden")
    record_coffee(page)
    expect(page.locator("#state")).to_contain_text("All sent")
    kept = stored(page, "journal")
    assert len(kept) == 1
    assert set(kept[0]) == {"uid", "entry", "sent_at", "state", "reason"}
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
    wait_until(lambda: server.entries == 4)
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
    expect(row).to_contain_text("must be from 1 to 400")
    row.get_by_role("button", name="Correct").tap()
    page.fill("[name=half_containers]", "2")
    page.locator("#keep").tap()
    expect(page.locator("#state")).to_contain_text("All sent")
    assert server.entries == 2
