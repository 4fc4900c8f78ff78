"""What may happen in a schedule, each by the name under which `schedules.py` speaks of it."""

import os
import signal
import time
from collections.abc import Callable
from typing import Any

from tests.faults.phones import Phone
from tests.faults.play import Play
from tests.faults.schedules import Action
from tests.serving import WORKER_DIES_AFTER_COMMIT

LOCKED_S = 0.05


# What people do


def record(play: Play, phone: Phone, action: Action) -> None:
    play.book.keep(phone.ask(action.tab, "light.keep(given)", action.said))


def undo(play: Play, phone: Phone, action: Action) -> None:
    if one := play.pick(phone, action):
        play.look(phone, phone.do(action.tab, "undo", one))


def correct(play: Play, phone: Phone, action: Action) -> None:
    if one := play.pick(phone, action):
        play.keep_correction(phone, action, one["entry"])


def correct_early(play: Play, phone: Phone, action: Action) -> None:
    """The original stays behind: nothing but its correction comes through."""
    original = phone.ask(action.tab, "light.keep(given)", action.said["entry"])
    play.book.keep(original)
    play.keep_correction(phone, action, original["entry"])
    send(play, phone, Action("send", action.phone, action.tab, said={"hurry": True}, posts=action.posts))


def send(play: Play, phone: Phone, action: Action) -> None:
    if first := action.said.get("first"):
        play.book.keep(phone.ask(action.tab, "light.keep(given)", first))
    phone.line.keeps_alive = action.said.get("keeps_alive", False)
    phone.line.plan(*action.posts)
    phone.line.plan(*action.gets, on="GET")
    play.look(phone, phone.send(action.tab, action.said["hurry"]))
    phone.line.heal()


def send_at_once(play: Play, phone: Phone, action: Action) -> None:
    for tab in range(len(phone.tabs)):
        phone.ask(tab, "light.withoutLocks(given)", not action.said["locks"])
    phone.line.plan(*action.posts)
    for _ in range(action.said["times"]):
        for tab in range(len(phone.tabs)):
            phone.begin(tab, "send", True)
    play.look(phone, phone.finish())
    phone.line.heal()


def clock(play: Play, phone: Phone, action: Action) -> None:
    phone.set_clock(action.said["off_s"])


def switch_user(play: Play, phone: Phone, action: Action) -> None:
    """Somebody signs out, and somebody else in; what nobody's is they are asked about."""
    play.stage.world.end_session(phone.cookie)
    play.sign_in(phone, action.said["person"])
    seen = phone.send(action.tab)
    play.look(phone, seen)
    if seen["unclaimed"]:
        play.look(phone, phone.do(action.tab, "claim", action.said["claim"]))


def tab_closed(play: Play, phone: Phone, action: Action) -> None:
    """In the middle of a sending, as a system does it that needs memory."""
    phone.begin(action.tab, "send", True)
    phone.open(action.tab)


def spoil(play: Play, phone: Phone, action: Action) -> None:
    waiting = phone.seen()["waiting"]
    if waiting:
        uid = waiting[int(action.pick * len(waiting))]["uid"]
        phone.ask(action.tab, "light.spoil(...given)", [uid, action.said["how"]])
        play.book.spoiled.add(uid)


# What happens at the server, and between it and a phone


def session_ends(play: Play, phone: Phone, _action: Action) -> None:
    play.stage.world.end_session(phone.cookie)


def token_lost(play: Play, phone: Phone, _action: Action) -> None:
    phone.context.clear_cookies(name="csrf")


def shut_out(play: Play, _phone: Phone, action: Action) -> None:
    play.stage.world.remove(action.said["person"])


def erase(play: Play, _phone: Phone, action: Action) -> None:
    play.stage.world.erase(action.said["person"])
    play.book.erased.add(action.said["person"])


def bay_turned(play: Play, _phone: Phone, action: Action) -> None:
    source, target = action.said["bays"]
    play.take(action, "turn", target, {"sources": [{"bay": source, "per_cent": 100}]})


def bay_closed(play: Play, _phone: Phone, action: Action) -> None:
    play.take(action, "close", action.said["bays"][0], {})


def bay_taken_away(play: Play, _phone: Phone, _action: Action) -> None:
    play.tell("     " + ("gone" if play.stage.world.remove_spare_bay() else "it is in use"))


def answered(play: Play, _phone: Phone, action: Action) -> None:
    """A coordinator's correction of what somebody recorded."""
    rows = play.stage.world.originals()
    if not rows:
        return
    row = rows[int(action.pick * len(rows))]
    details: dict[str, Any] = {"corrects": str(row.uid), "says": action.said["says"]}
    if action.said["says"] == "instead":
        said = row.details
        if "half_containers" in said:
            said = said | {"half_containers": action.said["half_containers"]}
        bay = str(row.bay.uid) if row.bay else None
        details |= {"kind": row.kind, "bay": bay, "occurred_at": None, "details": said}
    play.take(action, "correction", None, details)


def worker_killed(play: Play, phone: Phone, action: Action) -> None:
    """While it sends."""
    phone.begin(action.tab, "send", True)
    time.sleep(action.pick * 0.02)
    play.stage.world.kill_a_worker()
    play.look(phone, phone.finish())


def worker_killed_after_commit(play: Play, phone: Phone, action: Action) -> None:
    play.stage.world.odd(WORKER_DIES_AFTER_COMMIT)
    play.look(phone, phone.send(action.tab))


def server_killed(play: Play, phone: Phone, action: Action) -> None:
    server = play.stage.world.server
    phone.begin(action.tab, "send", True)
    assert server.process
    os.killpg(server.process.pid, signal.SIGKILL)
    play.look(phone, phone.finish())
    server.kill()
    server.start()


def locked(play: Play, phone: Phone, action: Action) -> None:
    with play.stage.world.locked(LOCKED_S):
        play.look(phone, phone.send(action.tab))


def backup(play: Play, _phone: Phone, _action: Action) -> None:
    play.stage.network.settle()
    play.stage.world.backup()


def restore(play: Play, _phone: Phone, _action: Action) -> None:
    """What came since is lost at the server; what phones still have comes back."""
    for phone in play.stage.phones:
        play.stage.network.release(phone.line)
    play.stage.network.settle()
    before = play.stage.world.held()
    play.stage.world.restore()
    play.book.restored(before, play.stage.world, play.stage.phones)


HAPPENS: dict[str, Callable[[Play, Phone, Action], None]] = {
    "record": record,
    "undo": undo,
    "correct": correct,
    "correct early": correct_early,
    "send": send,
    "send at once": send_at_once,
    "clock": clock,
    "switch user": switch_user,
    "spoil": spoil,
    "tab closed": tab_closed,
    "session ends": session_ends,
    "token lost": token_lost,
    "person shut out": shut_out,
    "person erased": erase,
    "bay turned": bay_turned,
    "bay closed": bay_closed,
    "bay taken away": bay_taken_away,
    "coordinator answers": answered,
    "worker killed": worker_killed,
    "worker killed after commit": worker_killed_after_commit,
    "server killed": server_killed,
    "database locked": locked,
    "backup": backup,
    "restore": restore,
}
