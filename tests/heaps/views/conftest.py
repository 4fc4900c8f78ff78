"""What tests of a heap's own pages share."""

import html
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

A_BUCKET = {"half_containers": 2, "container_ml": 10_000}


@pytest.fixture
def ago() -> Callable[..., datetime]:
    """So many days and hours ago."""
    now = timezone.now().replace(microsecond=0)
    return lambda days=0, hours=0: now - timedelta(days=days, hours=hours)


def text_of(answer: Any) -> str:
    """What a page says, without its marks."""
    assert answer.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())
