"""What strace saw: the calls of each thread in order, and what a process did between a question and its answer."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

STRACE = ["strace", "-f", "-ttt", "-s", "60", "-e"]
CALLS = "trace=recvfrom,sendto,pwrite64,fsync,fdatasync"
SYNCS = ("fsync", "fdatasync")
WHOLE = re.compile(r"^(\d+) +([\d.]+) (\w+)\((.*)$")
RESUMED = re.compile(r"^(\d+) +([\d.]+) <\.\.\. (\w+) resumed>(.*)$")


@dataclass(frozen=True)
class Call:
    """One call of the system, at the moment when it came back."""

    thread: int
    name: str
    said: str


def calls(log: Path) -> list[Call]:
    """All calls in the order in which they came back."""
    begun: dict[int, str] = {}
    found = []
    for line in log.read_text(errors="replace").splitlines():
        if resumed := RESUMED.match(line):
            found.append(Call(int(resumed[1]), resumed[3], begun.pop(int(resumed[1]), "") + resumed[4]))
        elif whole := WHOLE.match(line):
            if whole[4].endswith("<unfinished ...>"):
                begun[int(whole[1])] = whole[4]
            else:
                found.append(Call(int(whole[1]), whole[3], whole[4]))
    return found


def between(log: Path, question: str, answer: str) -> Iterator[list[Call]]:
    """The calls of a thread from one that received `question` up to the next that sent `answer`."""
    open_now: dict[int, list[Call]] = {}
    for call in calls(log):
        if call.name == "recvfrom" and question in call.said:
            open_now[call.thread] = []
        elif call.thread in open_now:
            if call.name == "sendto" and answer in call.said:
                yield open_now.pop(call.thread)
            else:
                open_now[call.thread].append(call)


def reached_the_disk(seen: list[Call]) -> bool:
    """Whether what was written was synced after the last of it was written."""
    names = [call.name for call in seen]
    last_written = max((place for place, name in enumerate(names) if name == "pwrite64"), default=-1)
    return last_written >= 0 and any(name in SYNCS for name in names[last_written:])
