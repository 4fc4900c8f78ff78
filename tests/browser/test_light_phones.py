"""Clocks, tabs, people, stores and bays go wrong on light phones: what the ledger has, and what the phone says."""

import json
import time
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tests.browser.conftest import NewLight
from tests.browser.light import SENT, keep, load, sign_in, sign_out, waits
from tests.faults.phones import Phone
from tests.faults.proxy import Fault, Network
from tests.serving import Server

pytestmark = pytest.mark.browser


def test_a_correction_that_comes_before_its_original_counts_when_that_comes(light: Phone, server: Server) -> None:
    original = load(server) | {"uid": "f0000000-0000-4000-8000-000000000001"}
    keep(light, original)
    instead = {"corrects": original["uid"], "says": "instead", "kind": "dropoff", "bay": original["bay"]}
    instead |= {"occurred_at": None, "details": original["details"] | {"half_containers": 6}}
    keep(light, original | {"uid": "00000000-0000-4000-8000-000000000001", "kind": "correction", "details": instead})
    light.line.plan(Fault("answer instead", answer="too large"), Fault(), Fault("drop"))
    assert waits(light.send(0)) == [original["uid"]]
    assert server.rows("select kind from heaps_entry") == [("correction",)]
    assert server.rows("select sum(volume_ml) from heaps_daytotal") == [(None,)]
    assert SENT in light.send(0)["says"]
    assert server.rows("select sum(volume_ml) from heaps_daytotal") == [(30_000,)]


@pytest.mark.parametrize("off", [timedelta(days=days) for days in (-3650, -1, 1, 3650)], ids=str)
def test_a_wrong_clock_loses_nothing_and_is_set_right(light: Phone, server: Server, off: timedelta) -> None:
    before = datetime.now(tz=UTC)
    light.set_clock(int(off.total_seconds()))
    keep(light, load(server))
    light.send(0)
    light.set_clock(0)
    ((claimed, counts),) = server.rows("select occurred_at, effective_at from heaps_entry")
    claimed, counts = (datetime.fromisoformat(one).replace(tzinfo=UTC) for one in (claimed, counts))
    assert abs(claimed - before - off) < timedelta(minutes=2)
    assert timedelta() <= counts - before < timedelta(minutes=2)


def test_a_clock_set_back_while_entries_wait_loses_none_and_asks(light: Phone, server: Server) -> None:
    for off_s in (0, 86_400, -86_400):
        light.set_clock(off_s)
        keep(light, load(server))
    light.set_clock(-2 * 86_400)
    assert SENT in light.send(0)["says"]
    assert server.entries == 3
    assert server.rows("select count(*) from heaps_entry where effective_at > received_at") == [(0,)]
    assert server.rows("select count(distinct entry_id) from heaps_question where why = 'date'")[0][0] >= 1


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "America/St_Johns"])
def test_a_phone_in_another_time_zone_tells_the_same_moment(new_light: NewLight, server: Server, zone: str) -> None:
    light = new_light(timezone_id=zone)
    keep(light, load(server))
    assert SENT in light.send(0)["says"]
    ((claimed,),) = server.rows("select occurred_at from heaps_entry")
    assert abs(datetime.fromisoformat(claimed).replace(tzinfo=UTC) - datetime.now(tz=UTC)) < timedelta(minutes=2)


def test_two_tabs_with_locks_send_each_entry_once_over_the_network(new_light: NewLight, server: Server) -> None:
    phone = new_light(tabs=3)
    uids = [keep(phone, load(server), tab % 3) for tab in range(12)]
    for _ in range(3):
        for tab in range(3):
            phone.begin(tab, "send", True)
    assert SENT in phone.finish()["says"]
    sent = [entry["uid"] for one in phone.line.log if one.method == "POST" for entry in json.loads(one.body)["entries"]]
    assert sorted(sent) == sorted(uids)
    assert server.entries == 12


def test_tabs_without_locks_may_send_twice_and_nothing_counts_twice(new_light: NewLight, server: Server) -> None:
    phone = new_light(tabs=3)
    for tab in range(3):
        phone.ask(tab, "light.withoutLocks(true)")
    for number in range(5):
        for tab in range(3):
            keep(phone, load(server), tab)
        for tab in range(3):
            phone.begin(tab, "send", True)
        assert SENT in phone.finish()["says"]
        assert server.entries == 3 * (number + 1)


def test_two_phones_of_one_person_mix_and_lose_nothing(new_light: NewLight, server: Server) -> None:
    phones = [new_light("ada"), new_light("ada")]
    for _ in range(3):
        for phone in phones:
            keep(phone, load(server))
            phone.begin(0, "send", True)
    assert all(SENT in phone.finish()["says"] for phone in phones)
    assert server.entries == 6
    assert [many for (many,) in server.rows("select count(*) from heaps_entry group by device")] == [3, 3]


def test_whoever_signs_in_sends_nothing_of_whoever_was_before(light: Phone, server: Server) -> None:
    uids: dict[str, list[str]] = {"ada": [], "bela": []}
    for number in range(12):
        whose, other = ("ada", "bela") if number % 2 else ("bela", "ada")
        sign_in(light, server, whose)
        uids[whose].append(keep(light, load(server)))
        light.line.plan(Fault("drop"))
        light.send(0)
        sign_out(light, server)
        sign_in(light, server, other)
    for whose in uids:
        sign_in(light, server, whose)
    assert SENT in light.send(0)["says"]
    whose = dict(server.rows("select e.uid, m.username from heaps_entry e join members_member m on m.id = e.person_id"))
    assert whose == {uid.replace("-", ""): name for name, theirs in uids.items() for uid in theirs}


def test_a_session_that_ends_between_two_letters_keeps_the_rest(light: Phone, network: Network, server: Server) -> None:
    for _ in range(70):
        keep(light, load(server))
    light.line.plan(Fault(), Fault("hold request"))
    light.begin(0, "send", True)
    while not light.line.held:
        time.sleep(0.01)
    server.rows("delete from members_session")
    network.release(light.line)
    seen = light.finish()
    assert (len(waits(seen)), len(seen["journal"]), seen["signedOut"], server.entries) == (20, 50, True, 50)
    assert "sign in" in seen["says"]
    sign_in(light, server, "ada")
    assert SENT in light.send(0)["says"]
    assert server.entries == 70


def test_bays_turned_into_one_another_take_what_waited_for_each(new_light: NewLight, server: Server) -> None:
    """A chain of three turns, and a fourth back again, while a phone holds a load for each bay."""
    ada, cleo = new_light("ada"), new_light("cleo")
    bays = ["Bay 1", "Bay 2", "Leaf bin"]
    for bay in bays:
        keep(ada, load(server, bay=bay))
    uids = {bay: load(server, bay=bay)["bay"] for bay in bays}
    for source, target in [("Bay 1", "Bay 2"), ("Bay 2", "Leaf bin"), ("Leaf bin", "Bay 1"), ("Bay 1", "Bay 2")]:
        turn = {"kind": "turn", "details": {"sources": [{"bay": uids[source], "per_cent": 100}]}}
        keep(cleo, load(server, bay=target) | turn)
        assert SENT in cleo.send(0)["says"]
    assert SENT in ada.send(0)["says"]
    assert server.rows("select sum(entries), sum(volume_ml) from heaps_daytotal where what = 'came in'") == [
        (3, 30_000)
    ]
    assert server.rows("select count(*) from heaps_parked") == [(0,)]


def test_a_load_for_a_bay_that_is_gone_is_laid_aside_and_told(light: Phone, server: Server) -> None:
    uid = keep(light, load(server, bay="Leaf bin"))
    server.rows("delete from heaps_bay where name = 'Leaf bin'")
    seen = light.send(0)
    assert (waits(seen), seen["journal"]) == ([], [uid])
    assert light.ask(0, "light.record(given)", uid)["state"] == "parked"
    assert server.rows("select count(*) from heaps_parked") == [(1,)]


@pytest.mark.parametrize("first", ["phone", "coordinator"])
def test_of_two_corrections_one_decides_and_both_stay(new_light: NewLight, server: Server, first: str) -> None:
    ada, cleo = new_light("ada"), new_light("cleo")
    original = load(server)
    keep(ada, original)
    ada.send(0)
    for whose, count in ((ada, 6), (cleo, 8)):
        instead = {"corrects": original["uid"], "says": "instead", "kind": "dropoff", "bay": original["bay"]}
        instead |= {"occurred_at": None, "details": original["details"] | {"half_containers": count}}
        keep(whose, load(server) | {"kind": "correction", "details": instead})
    answers: dict[str, Any] = {}
    for whose in (ada, cleo) if first == "phone" else (cleo, ada):
        answers["ada" if whose is ada else "cleo"] = whose.send(0)
    assert server.rows("select sum(volume_ml) from heaps_daytotal where what = 'came in'") == [(40_000,)]
    if first == "phone":
        assert server.entries == 3
    else:  # settled: her phone says so, and keeps what she meant
        (refused,) = answers["ada"]["waiting"]
        assert "settled" in refused["refused"]
        assert server.entries == 2
