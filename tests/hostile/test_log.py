"""What is written to the log is one line an event, and holds no address that lets somebody in."""

import logging

import pytest
from django.test import Client
from django.urls import reverse
from gunicorn.config import Config

from cooperative import logs
from tests.hostile.conftest import Laid
from tests.test_access import PAGES

LINES = [
    "a\r\n[CRITICAL] a line of its own",
    "a\nERROR everything was erased",
    "\x1b[2J\x1b[31mred",
    "\x9b31m",
    "a\u2028b",
    "a\x85b",
    "\x08\x7f",
]


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What our own handler writes."""
    lines: list[str] = []
    handler = next(
        one for one in logging.getLogger().handlers if any(isinstance(f, logs.WithoutSecrets) for f in one.filters)
    )
    monkeypatch.setattr(handler, "emit", lambda record: lines.append(handler.format(record)))
    return lines


@pytest.mark.parametrize("text", LINES)
def test_one_event_is_one_line(written: list[str], text: str) -> None:
    logging.getLogger("heaps").warning("A name: %s", text)
    (line,) = written
    assert line.isprintable()


def test_a_traceback_forges_no_line(written: list[str]) -> None:
    try:
        raise ValueError("a\nERROR everything was erased\x1b[2J")
    except ValueError:
        logging.getLogger("heaps").exception("It broke")
    first, *more = written[0].split("\n")
    assert first == "It broke"
    assert all(line.startswith("  ") and line.isprintable() for line in more)
    assert "ValueError" in written[0]


def test_no_address_that_lets_somebody_in_is_written(written: list[str], client: Client, peopled: Laid) -> None:
    spots = [page for page in PAGES if {"code", "link"} & page.get("with", {}).keys()]
    assert len(spots) >= 3
    for page in spots:
        where = reverse(page["name"], kwargs=dict.fromkeys(page["with"], "s3cret-of-ours"))
        strict = Client(enforce_csrf_checks=True)
        for answer in (
            client.get(where),
            client.post(where),
            strict.post(where),
            client.put(where),
            client.get(where[:-1] + "x/y"),
        ):
            assert answer.status_code != 500
    assert written
    assert [line for line in written if "s3cret" in line] == []


def test_gunicorn_writes_no_addresses_unless_it_is_told_to() -> None:
    assert Config().accesslog is None
    handlers = [one for name in ("", "django.server") for one in logging.getLogger(name).handlers]
    ours = [one for one in handlers if not type(one).__module__.startswith("_pytest")]
    assert {one.get_name() for one in ours} == {"console"}
    assert all(isinstance(one.formatter, logs.OneLine) for one in ours)
