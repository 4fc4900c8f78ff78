"""The log holds no address that lets somebody in."""

import io
import logging

import pytest
from django.test import Client

from cooperative.logs import WithoutSecrets


@pytest.mark.parametrize("where", ["/join/{}/", "/come-in/{}/", "/set-up/first/{}/"])
def test_a_secret_address_is_not_written_down(client: Client, db: None, where: str) -> None:
    (handler,) = [
        one for one in logging.getLogger().handlers if any(isinstance(f, WithoutSecrets) for f in one.filters)
    ]
    assert isinstance(handler, logging.StreamHandler)
    written = io.StringIO()
    before = handler.setStream(written)
    try:
        client.get(where.format("a-long-secret"))
        client.put(where.format("a-long-secret"))
        Client(enforce_csrf_checks=True).post(where.format("a-long-secret"))
    finally:
        handler.setStream(before)
    assert written.getvalue().count(where.format("...")) == 3
    assert "a-long-secret" not in written.getvalue()


def test_anything_else_is_written_as_it_is() -> None:
    record = logging.LogRecord("any", logging.WARNING, "", 0, "Not Found: %s", ("/heaps/1/",), None)
    assert WithoutSecrets().filter(record)
    assert record.getMessage() == "Not Found: /heaps/1/"
