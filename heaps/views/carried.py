"""Bringing in what a phone kept and somebody carried off as a file, or copied as text."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from heaps import carried as files
from heaps import wire
from heaps.models import Bay, known_materials
from heaps.stewards import coordinators
from heaps.sync import Receipt
from heaps.tray.said import Names, said
from heaps.wording import refused

MOST_FILES, MOST_BYTES = 20, 1_000_000


@dataclass(frozen=True)
class Line:
    """An entry of a file, in words, and what became of it."""

    what: str
    at: datetime | None
    words: str
    receipt: Receipt


@require_http_methods(["GET", "HEAD", "POST"])
@coordinators
def carried(request: HttpRequest) -> HttpResponse:
    """A form for files and text, and after it what became of each line."""
    context: dict[str, Any] = {"text": request.POST.get("text", "")}
    if request.method == "POST":
        context["brought"] = [_brought(name, text) for name, text in _texts(request)]
        if not context["brought"]:
            context["says"] = _("Choose a file, or lay the text in.")
    return render(request, "heaps/carried.html", context)


def _texts(request: HttpRequest) -> Iterator[tuple[str, str]]:
    """What was sent, each with a name."""
    for upload in request.FILES.getlist("files")[:MOST_FILES]:
        yield str(upload.name)[-100:], _text_of(upload)
    if text := request.POST.get("text", "").strip():
        yield _("The text"), text


def _text_of(upload: "UploadedFile[Any]") -> str:
    """A file as text; nothing where it is far too large, which then cannot be read."""
    return upload.read().decode("utf-8", "replace") if (upload.size or 0) <= MOST_BYTES else ""


def _brought(name: str, text: str) -> dict[str, Any]:
    try:
        brought = files.bring_in(text, timezone.now())
    except files.Unreadable as wrong:
        return {"name": name, "wrong": str(wrong)}
    names = Names(
        {str(uid): f"{site}, {bay}" for uid, site, bay in Bay.objects.values_list("uid", "site__name", "name")},
        known_materials(),
    )
    letters = [
        {"letter": letter, "lines": [_line(raw, receipt, names) for raw, receipt in files.lines(letter)]}
        for letter in brought.letters
    ]
    return {"name": name, "letters": letters, "set_aside": brought.set_aside}


def _line(raw: Any, receipt: Receipt, names: Names) -> Line:
    try:
        wired = wire.read(raw, names.materials)
    except wire.Refusal as refusal:
        return Line(refused(refusal), None, "", receipt)
    return Line(said(wired.what, wired.bay, names), wired.occurred_at, wired.words, receipt)
