"""What is collected once is known to everybody who waited for it."""

from django.core.files.storage import storages
from django.templatetags.static import static
from pytest import MonkeyPatch

from cooperative.collecting import collect_static


def test_whoever_looked_before_it_was_collected_finds_it_after(monkeypatch: MonkeyPatch) -> None:
    monkeypatch.setattr(storages["staticfiles"], "hashed_files", {})
    collect_static()
    assert static("cooperative/base.css") != "/static/cooperative/base.css"
