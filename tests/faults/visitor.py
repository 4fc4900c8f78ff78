"""Somebody who signs in and sends over plain HTTP, to a real server. No browser: a browser repeats a POST by itself."""

import json
import urllib.error
import urllib.request
import uuid
from datetime import UTC, datetime
from http.client import HTTPException, HTTPMessage
from http.cookiejar import CookieJar
from typing import Any
from urllib.parse import urlencode

from tests.serving import PASSWORD, Server

PATIENCE_S = 60


class Answer:
    """What came back."""

    def __init__(self, status: int, headers: HTTPMessage, body: bytes) -> None:
        self.status, self.headers, self.text = status, headers, body.decode()

    @property
    def said(self) -> Any:
        return json.loads(self.text)

    @property
    def states(self) -> list[str]:
        """What became of each entry."""
        return [one["state"] for one in self.said["receipts"]]


class Visitor:
    """A person with cookies of their own."""

    def __init__(self, server: Server) -> None:
        self.server, self.cookies = server, CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.cookies))
        self.device, self.person = str(uuid.uuid4()), ""

    def cookie(self, name: str) -> str:
        return next((str(one.value) for one in self.cookies if one.name == name), "")

    def sign_in(self, username: str = "ada") -> "Visitor":
        self.fetch("/sign-in/")
        self.post_form("/sign-in/", username=username, password=PASSWORD)
        self.person = self.hello().said["person"]
        assert self.person
        return self

    def hello(self) -> Answer:
        """Who the server takes us for, with the token for sending."""
        return self.fetch("/sync/")

    def send(self, entries: list[dict[str, Any]], sent_at: datetime | None = None) -> Answer | None:
        """The server's answer, or None when it died before it gave one."""
        letter = {"wire": 1, "device": self.device, "person": self.person, "waiting": len(entries), "entries": entries}
        letter["sent_at"] = (sent_at or datetime.now(UTC)).isoformat()
        headers = {"Content-Type": "application/json", "X-CSRFToken": self.cookie("csrf")}
        try:
            return self.fetch("/sync/", json.dumps(letter).encode(), headers)
        except (OSError, HTTPException):
            return None

    def post_form(self, path: str, **fields: str) -> Answer:
        """An ordinary form, as a page would post it."""
        typed = {"csrfmiddlewaretoken": self.cookie("csrf"), **fields}
        return self.fetch(path, urlencode(typed).encode())

    def fetch(self, path: str, body: bytes | None = None, headers: dict[str, str] | None = None) -> Answer:
        said = {"Origin": self.server.url, "Connection": "close", **(headers or {})}
        request = urllib.request.Request(self.server.url + path, body, said)
        try:
            with self.opener.open(request, timeout=PATIENCE_S) as answer:
                return Answer(answer.status, answer.headers, answer.read())
        except urllib.error.HTTPError as refusal:
            with refusal:
                return Answer(refusal.code, refusal.headers, refusal.read())
