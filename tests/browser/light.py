"""Light phones in browser tests: on the server that all tests share, behind a network that fails as told."""

import random
import re
import uuid
from http.cookiejar import CookieJar
from typing import Any
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, build_opener

from tests.faults.phones import Phone
from tests.serving import PASSWORD, Server

WAITS = "all wait"  # without words on the page a sentence is its own key
SENT = "all sent"


def sign_in(phone: Phone, server: Server, username: str) -> None:
    """Somebody signs in on a phone, by the form."""
    jar = CookieJar()
    browser = build_opener(HTTPCookieProcessor(jar))
    with browser.open(f"{server.url}/sign-in/") as answer:
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', answer.read().decode())
    assert token
    said = {"csrfmiddlewaretoken": token[1], "username": username, "password": PASSWORD}
    browser.open(f"{server.url}/sign-in/", urlencode(said).encode()).close()
    phone.sign_in(username, next(str(cookie.value) for cookie in jar if cookie.name == "session"))
    phone.send(0)


def sign_out(phone: Phone, server: Server) -> None:
    """Nobody is signed in on a phone any more."""
    server.rows("delete from members_session where session_key = ?", phone.cookie)
    phone.sign_in(None, "")


def load(server: Server, number: int | None = None, bay: str = "Bay 1") -> dict[str, Any]:
    """What the form says of two half buckets of coffee grounds."""
    ((site, into),) = server.rows(
        "select s.uid, b.uid from heaps_bay b join heaps_site s on s.id = b.site_id where b.name = ?", bay
    )
    uid = uuid.UUID(int=random.Random(number).getrandbits(128), version=4) if number is not None else uuid.uuid4()
    details = {"feedstock": "coffee", "half_containers": 2, "container_ml": 10_000}
    where = {"site": str(uuid.UUID(site)), "bay": str(uuid.UUID(into))}
    return {"uid": str(uid), "kind": "dropoff", "details": details, "words": "", **where}


def keep(phone: Phone, said: dict[str, Any], tab: int = 0) -> str:
    """Keep an entry on a phone; its number."""
    phone.ask(tab, "light.keep(given)", said)
    return str(said["uid"])


def waits(seen: dict[str, Any]) -> list[str]:
    """The numbers of what waits."""
    return [one["uid"] for one in seen["waiting"]]
