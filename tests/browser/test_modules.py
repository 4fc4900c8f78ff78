"""The modules behind the page, each called by itself in a real browser."""

import json
import re
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import pytest
from playwright.sync_api import Page

from heaps.science.fit import Lying, span
from tests.browser.steps import stored
from tests.serving import Server

pytestmark = [pytest.mark.browser, pytest.mark.bare]

VECTORS = Path(__file__).parent.parent / "vectors"
EFFECTS = json.loads((VECTORS / "effect.json").read_text(encoding="utf-8"))
FITS = json.loads((VECTORS / "fit.json").read_text(encoding="utf-8"))
FIGURES = ("density", "group", "moisture", "nitrogen", "ratio")

RECORD = {
    "uid": "a", "person": "ada", "kept_at": 1,
    "entry": {"uid": "a", "kind": "dropoff", "words": "of Ada's", "details": {}, "occurred_at": "2026-05-01T10:00:00Z"},
}  # fmt: skip


@pytest.fixture
def bare(page: Page, server: Server) -> Page:
    """A document of the same origin that runs nothing by itself."""
    page.goto(f"{server.url}/drop-off/now/")
    return page


@pytest.fixture
def materials(server: Server) -> dict[str, dict[str, Any]]:
    """What the recording page says of each material."""
    with urlopen(f"{server.url}/drop-off/") as answer:
        told = re.search(r'<script id="feedstocks"[^>]*>(.*?)</script>', answer.read().decode())
    assert told
    return {row[0]: dict(zip(FIGURES, row[6:], strict=True)) for row in json.loads(told[1])}


def call(page: Page, module: str, script: str, *values: Any) -> Any:
    """Run a script with a module as `it` and the values as `given`."""
    return page.evaluate(
        f"async (given) => {{ const it = await import('/static/heaps/{module}'); {script} }}", list(values)
    )


def test_an_entry_kept_twice_is_kept_once_and_as_it_was_first(bare: Page) -> None:
    call(bare, "outbox.js", "await it.keep([given[0]]); await it.keep([{...given[0], kept_at: 2}]);", RECORD)
    assert stored(bare, "waiting") == [RECORD]


@pytest.mark.parametrize(
    ("receipt", "waits", "sent", "settled"),
    [
        ({"uid": "a", "state": "accepted"}, 0, 1, 1),
        ({"uid": "a", "state": "known"}, 0, 1, 1),
        ({"uid": "a", "state": "parked", "reason": "Its bay is not known."}, 0, 1, 1),
        ({"uid": "a", "state": "refused", "reason": "Too many."}, 1, 0, 1),
        ({"uid": "a", "state": "thrown away"}, 1, 0, 0),
        ({"uid": "b", "state": "accepted"}, 1, 0, 0),
        ({"uid": "a"}, 1, 0, 0),
    ],
    ids=["accepted", "known", "parked", "refused", "a state of tomorrow", "another's", "no state"],
)
def test_only_three_states_end_the_wait(
    bare: Page, receipt: dict[str, str], waits: int, sent: int, settled: int
) -> None:
    call(bare, "outbox.js", "await it.keep([given[0]])", RECORD)
    found = call(bare, "outbox.js", "return await it.settle([given[1]], [given[0]], 5)", RECORD, receipt)
    assert found == settled
    assert (len(stored(bare, "waiting")), len(stored(bare, "journal"))) == (waits, sent)
    assert [one["entry"]["words"] for one in stored(bare, "journal")] == [""] * sent
    assert [one.get("refused") for one in stored(bare, "waiting")] == (
        [None if receipt.get("state") != "refused" else "Too many."] * waits
    )


def test_a_receipt_for_what_was_not_in_this_letter_settles_nothing(bare: Page) -> None:
    call(bare, "outbox.js", "await it.keep([given[0]])", RECORD)
    call(bare, "outbox.js", "await it.settle([{uid: 'a', state: 'accepted'}], [], 5)")
    assert len(stored(bare, "waiting")) == 1


def test_what_was_sent_is_forgotten_after_35_days_and_what_waits_never(bare: Page) -> None:
    sent = {**RECORD, "uid": "b"}
    day_ms = 86_400_000
    call(bare, "outbox.js", "await it.keep(given); await it.settle([{uid: 'b', state: 'known'}], [given[1]], 1)",
         RECORD, sent)  # fmt: skip
    call(bare, "outbox.js", "await it.prune(given[0])", 35 * day_ms + 1)
    assert len(stored(bare, "journal")) == 1
    call(bare, "outbox.js", "await it.prune(given[0])", 35 * day_ms + 2)
    assert stored(bare, "journal") == []
    assert len(stored(bare, "waiting")) == 1


def test_after_a_restore_what_was_sent_waits_again_as_whose_it_was(bare: Page) -> None:
    call(bare, "outbox.js", "await it.keep(given); await it.settle([{uid: 'a', state: 'accepted'}], given, 5);"
         "await it.offerAgain('new')", RECORD)  # fmt: skip
    (waiting,) = stored(bare, "waiting")
    assert (waiting["uid"], waiting["person"]) == ("a", "ada")
    assert len(stored(bare, "journal")) == 1


def test_numbers_are_read_as_people_write_them(bare: Page) -> None:
    found = call(bare, "panels.js", "return given.map(it.numberIn)", "2½", "2,5", " 2.5 ", "½", "3")
    assert found == [2.5, 2.5, 2.5, 0.5, 3]
    assert call(bare, "panels.js", "return given.map(it.numberIn).map(Number.isNaN)", "", "two") == [True, True]


def test_halves_are_written_as_people_say_them(bare: Page) -> None:
    assert call(bare, "entry.js", "return given.map(it.halves)", 1, 2, 3, 0) == ["½", "1", "1½", "0"]


def test_a_uid_made_by_hand_is_one_of_version_four(bare: Page) -> None:
    bare.evaluate("crypto.randomUUID = undefined")
    made = call(bare, "entry.js", "return [it.newUid(), it.newUid()]")
    pattern = r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}"
    assert made[0] != made[1]
    assert all(re.fullmatch(pattern, one) for one in made)


def test_a_phone_reckons_the_same_of_whether_a_turn_fits(bare: Page) -> None:
    def lying(one: dict[str, Any]) -> list[float]:
        found = span(Lying(one["volume_l"], marked=one["marked"]))
        return [found.least_l, found.most_l]

    cases = [
        ([[lying(one), one["share"], 0] for one in case["moved"]]
         + [[lying(one), 0, 1] for one in [case["stays"]] if one], case["bay_l"])
        for case in FITS["cases"]
    ]  # fmt: skip
    said = call(bare, "fit.js", "return given[0].map(([heaps, litres]) => it.fits(heaps, litres));", cases)
    assert said == [case["expect"] for case in FITS["cases"]]


@pytest.mark.parametrize("case", EFFECTS["cases"], ids=lambda case: case["name"])
def test_a_phone_reckons_the_same_effect_of_a_load(
    bare: Page, materials: dict[str, dict[str, Any]], case: dict[str, Any]
) -> None:
    script = """
        const [materials, { heap, load, added_water_kg: water, room_l: room, brown, green }] = given;
        const of = ({ feedstock, volume_ml: ml, weighed_g }) =>
          it.brings(materials[feedstock], ml, weighed_g ?? undefined);
        const mix = (parts) => it.sum([0, 0, 0, 0], ...parts.map(of));
        const lies = it.sum(mix(heap), [water, 0, 0, 0]);
        const litres = load.map((one) => it.heaped(materials[one.feedstock], one.volume_ml)).reduce((a, b) => a + b);
        const usual = { brown: brown && of(brown), green: green && of(green) };
        return [it.sum(lies, mix(load)), it.effect(lies, mix(load), litres, room, usual)];
    """
    whole, (does, *amount) = call(bare, "effect.js", script, materials, case["given"])
    expect = case["expect"]
    assert whole == pytest.approx(list(expect["whole"].values()), rel=EFFECTS["relative_tolerance"])
    assert (does, amount[0] if amount else None) == (expect["does"], expect["amount"])


@pytest.mark.parametrize(("marks", "undone"), [({}, ["a"]), ({"refused": "No."}, []), ({"withdrawn": 1}, [])])
def test_what_was_refused_or_taken_back_undoes_nothing(bare: Page, marks: dict[str, Any], undone: list[str]) -> None:
    undoing = {"uid": "b", "entry": {"kind": "correction", "details": {"corrects": "a", "says": "withdraw"}}} | marks
    found = call(bare, "records.js", "return [...it.mended(given, 'withdraw')].filter(Boolean)", RECORD, undoing)
    assert found == undone


@pytest.mark.parametrize(
    ("marks", "closed"),
    [({}, True), ({"sent_at": 1_000_001}, True), ({"sent_at": 999_999}, False), ({"refused": "No."}, False)],
    ids=["waits", "sent since", "the server knew of it", "refused"],
)
def test_a_bay_is_closed_by_what_the_list_does_not_know_of(
    page: Page, server: Server, marks: dict[str, Any], closed: bool
) -> None:
    page.goto(f"{server.url}/drop-off/")
    ground = {
        "as_of": "1970-01-01T00:16:40Z",
        "sites": [{"fed": "one", "bays": [{"uid": "one", "kind": "open"}, {"uid": "two", "kind": "open"}]}],
    }
    closing = {"uid": "c", "entry": {"kind": "close", "bay": "one", "details": {}, "occurred_at": "1970-01-01"}} | marks
    (site,) = call(page, "ground.js", "return it.overlaid(given[0], [given[1]]).sites", ground, closing)
    assert (bool(site["bays"][0].get("closed")), site["fed"]) == (closed, "two" if closed else "one")
