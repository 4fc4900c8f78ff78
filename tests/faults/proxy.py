"""A network that fails as told: it stands between phones and the server, one port for each phone.

It understands just enough HTTP to know where a request or an answer ends. What is no request to /sync/ passes.
"""

import asyncio
import threading
from collections import deque
from collections.abc import Callable, Coroutine
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from tests.faults.answers import canned, file_at


@dataclass(frozen=True)
class Fault:
    """What befalls one request. `part` is how much of a body comes through; `answer` names one of ANSWERS."""

    what: str = "nothing"
    part: float = 1.0
    answer: str = ""

    @property
    def holds(self) -> bool:
        return self.what.startswith("hold")

    def __str__(self) -> str:
        return " ".join(
            [self.what, self.answer or (f"at {self.part:.0%}" if self.what.startswith("cut") else "")]
        ).strip()


NOTHING = Fault()


@dataclass
class Exchange:
    """One request as the network saw it."""

    method: str
    fault: Fault
    body: bytes
    status: str = ""


@dataclass
class Line:
    """The way of one phone."""

    port: int = 0
    plans: dict[str, deque[Fault]] = field(default_factory=lambda: {"GET": deque(), "POST": deque()})
    keeps_alive: bool = False  # a browser sends a request again by itself when a connection it kept dies
    log: list[Exchange] = field(default_factory=list)
    held: list[asyncio.Event] = field(default_factory=list)
    to_hold: int = 0  # how many requests will be held back
    just_held: bool = False

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}"

    @property
    def keeps_waiting(self) -> bool:
        """Whether the phone will wait for an answer that does not come in time."""
        return self.just_held or self.to_hold > 0

    def plan(self, *faults: Fault, on: str = "POST") -> None:
        """What befalls the next requests of a method to /sync/, one each."""
        self.plans[on].extend(faults)
        self.to_hold += sum(fault.holds for fault in faults)

    def heal(self) -> None:
        self.to_hold, self.just_held = 0, False
        for plan in self.plans.values():
            plan.clear()


class Network:
    """Lines to one server. It runs in a thread of its own."""

    def __init__(self, server_port: int, phones: int) -> None:
        self.server_port = server_port
        self.lines = [Line() for _ in range(phones)]
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever, daemon=True)
        self._tasks: set[asyncio.Task[None]] = set()
        self._servers: list[asyncio.Server] = []

    def __enter__(self) -> "Network":
        self._thread.start()
        self._wait(self._open())
        return self

    def __exit__(self, *_why: object) -> None:
        self._wait(self._close())
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    def release(self, line: Line) -> int:
        """Let go what was held; how much it was. It arrives, though whoever asked may be gone."""

        async def let_go() -> int:
            held, line.held = line.held, []
            line.just_held = False
            for one in held:
                one.set()
            return len(held)

        return int(self._wait(let_go()))

    def settle(self) -> None:
        """Wait until the last request has been answered."""

        async def rest() -> None:
            for _ in range(500):
                if not self._busy:
                    return
                await asyncio.sleep(0.01)
            raise TimeoutError("A request is never answered.")

        self._wait(rest())

    def _wait(self, work: Coroutine[Any, Any, Any]) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(timeout=30)

    async def _open(self) -> None:
        self._busy = 0
        for line in self.lines:
            server = await asyncio.start_server(self._phone(line), "127.0.0.1", line.port)
            line.port = server.sockets[0].getsockname()[1]
            self._servers.append(server)

    async def _close(self) -> None:
        for server in self._servers:
            server.close()
        for task in list(self._tasks):
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)

    def _phone(self, line: Line) -> Callable[[asyncio.StreamReader, asyncio.StreamWriter], Coroutine[Any, Any, None]]:
        async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            task = asyncio.current_task()
            assert task
            self._tasks.add(task)
            try:
                while await self._exchange(line, reader, writer):
                    pass
            except (OSError, asyncio.IncompleteReadError, asyncio.CancelledError):
                pass  # whoever was there is gone
            finally:
                self._tasks.discard(task)
                writer.close()

        return serve

    async def _exchange(self, line: Line, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bool:
        """One request and its answer. Whether the connection may stay."""
        head = await reader.readuntil(b"\r\n\r\n")
        body = await reader.readexactly(length_of(head))
        method, path, _version = head.split(b"\r\n", 1)[0].decode().split(" ")
        if file := file_at(path):
            return await reply(writer, file, keep=line.keeps_alive)
        if path != "/sync/" or method not in line.plans:
            return await reply(writer, await self._ask(head, body), keep=False)
        plan = line.plans[method]
        exchange = Exchange(method, plan.popleft() if plan else NOTHING, body)
        line.log.append(exchange)
        self._busy += 1
        try:
            return await self._befall(line, exchange, head, writer)
        finally:
            self._busy -= 1

    async def _befall(self, line: Line, exchange: Exchange, head: bytes, writer: asyncio.StreamWriter) -> bool:
        """The request under its fault: what reaches the server, and what of its answer comes back."""
        fault, body = exchange.fault, exchange.body
        if fault.what == "drop":
            return False
        if fault.what == "cut request":
            await self._ask(head, body[: int(len(body) * fault.part)], cut=True)
            return False
        if fault.what == "answer instead":
            return await reply(writer, canned(fault.answer), keep=line.keeps_alive)
        if fault.what == "hold request":
            await self._hold(line)
        answer = await self._ask_twice(head, body) if fault.what == "double" else await self._ask(head, body)
        exchange.status = answer.split(b" ", 2)[1].decode() if answer else ""
        if not answer:
            line.to_hold = max(0, line.to_hold - (fault.what == "hold answer"))
            return False
        return await self._bring_back(line, fault, answer, writer)

    async def _bring_back(self, line: Line, fault: Fault, answer: bytes, writer: asyncio.StreamWriter) -> bool:
        """What of the server's answer reaches the phone."""
        if fault.what == "drop answer":
            return False
        if fault.what == "hold answer":
            await self._hold(line)
        if fault.what == "answer after all":
            answer = canned(fault.answer)
        if fault.what == "cut answer":
            writer.write(answer[: int(len(answer) * fault.part)])
            await writer.drain()
            return False
        return await reply(writer, answer, keep=line.keeps_alive)

    async def _hold(self, line: Line) -> None:
        """Wait to be released; it does not keep the network from being at rest meanwhile."""
        gate = asyncio.Event()
        line.held.append(gate)
        line.to_hold, line.just_held = max(0, line.to_hold - 1), True
        self._busy -= 1
        try:
            await gate.wait()
        finally:
            self._busy += 1

    async def _ask_twice(self, head: bytes, body: bytes) -> bytes:
        """The same bytes reach the server twice at once; the second answer comes back."""
        answers = await asyncio.gather(self._ask(head, body), self._ask(head, body))
        return answers[1]

    async def _ask(self, head: bytes, body: bytes, cut: bool = False) -> bytes:
        """The server's whole answer; nothing if it is not there or dies meanwhile."""
        try:
            reader, writer = await asyncio.open_connection("127.0.0.1", self.server_port)
        except OSError:
            return b""
        try:
            writer.write(without(head, b"connection", b"Connection: close") + body)
            await writer.drain()
            if cut:
                writer.write_eof()
            answer = await reader.read()
        except OSError:
            return b""
        finally:
            writer.close()
            with suppress(OSError):
                await writer.wait_closed()
        return answer


def length_of(head: bytes) -> int:
    """How long the body after a head is."""
    for line in head.split(b"\r\n"):
        if line.lower().startswith(b"content-length:"):
            return int(line.split(b":")[1])
    return 0


def without(head: bytes, name: bytes, instead: bytes) -> bytes:
    """A head with another line in the stead of one of its own."""
    first, *lines = head[:-4].split(b"\r\n")
    kept = [line for line in lines if not line.lower().startswith(name + b":")]
    return b"\r\n".join([first, *kept, instead]) + b"\r\n\r\n"


async def reply(writer: asyncio.StreamWriter, answer: bytes, keep: bool) -> bool:
    """Hand on an answer. The connection stays where its end is known."""
    head, mark, body = answer.partition(b"\r\n\r\n")
    keep = keep and b"content-length:" in head.lower()
    writer.write(
        without(head + mark, b"connection", b"Connection: keep-alive" if keep else b"Connection: close") + body
    )
    await writer.drain()
    return keep
