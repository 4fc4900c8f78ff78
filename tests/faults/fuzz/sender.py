"""A signed-in person who sends bodies that no browser would, over a plain socket."""

import json
import re
import socket
from http.client import HTTPConnection, HTTPException, HTTPResponse
from typing import Any
from urllib.parse import urlencode

from tests.faults.fuzz.bodies import Body
from tests.serving import PASSWORD

LONGEST_S = 120
HUNG_UP = 0  # in the status's stead: the server closed without an answer, or waits for more than will come


class Sender:
    """Cookies and the token of one person."""

    def __init__(self, port: int, username: str) -> None:
        self.port = port
        self.cookies: dict[str, str] = {}
        page = self._ask("GET", "/sign-in/")
        (token,) = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)[:1]
        said = {"username": username, "password": PASSWORD, "csrfmiddlewaretoken": token}
        self._ask("POST", "/sign-in/", urlencode(said), {"Content-Type": "application/x-www-form-urlencoded"})
        self.token: str = json.loads(self._ask("GET", "/sync/"))["csrf"]

    def post(self, body: Body) -> tuple[int, dict[str, Any]]:
        """Send it as it is. The status, and what the answer says if it is JSON."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=LONGEST_S) as line:
            whole = self._head(body) + (_in_pieces(body.data) if body.chunked else body.data)
            try:
                line.sendall(whole)
                if body.length is not None and body.length > len(body.data):
                    line.shutdown(socket.SHUT_WR)
            except OSError:  # it has answered already, or hung up
                pass
            return _answer(line)

    def _head(self, body: Body) -> bytes:
        said = {
            "Host": f"localhost:{self.port}",
            "Connection": "close",
            "Cookie": self._cookie(),
            "X-CSRFToken": self.token,
            **body.headers,
        }
        if body.chunked:
            said["Transfer-Encoding"] = "chunked"
        else:
            said["Content-Length"] = str(len(body.data) if body.length is None else body.length)
        lines = "".join(f"{name}: {value}\r\n" for name, value in said.items())
        return f"POST /sync/ HTTP/1.1\r\n{lines}\r\n".encode("latin-1")

    def _ask(self, method: str, where: str, body: str | None = None, headers: dict[str, str] | None = None) -> str:
        line = HTTPConnection("localhost", self.port, timeout=LONGEST_S)
        line.request(method, where, body, {"Cookie": self._cookie(), **(headers or {})})
        answer = line.getresponse()
        for one in answer.headers.get_all("Set-Cookie") or ():
            name, value = one.split(";")[0].split("=", 1)
            self.cookies[name] = value
        text = answer.read().decode()
        line.close()
        return text

    def _cookie(self) -> str:
        return "; ".join(f"{name}={value}" for name, value in self.cookies.items())


def _in_pieces(data: bytes) -> bytes:
    size = max(1, len(data) // 3)
    pieces = [data[at : at + size] for at in range(0, len(data), size)]
    return b"".join(f"{len(piece):x}\r\n".encode() + piece + b"\r\n" for piece in pieces) + b"0\r\n\r\n"


def _answer(line: socket.socket) -> tuple[int, dict[str, Any]]:
    answer = HTTPResponse(line)
    try:
        answer.begin()
        text = answer.read()
    except (OSError, HTTPException):
        return HUNG_UP, {}
    try:
        said = json.loads(text)
    except ValueError:
        said = {}
    return answer.status, said if isinstance(said, dict) else {}
