"""What a phone keeps to open pages without a network: the service worker and the manifest."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import is_dataclass
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.storage import ManifestStaticFilesStorage, staticfiles_storage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import get_template, render_to_string
from django.urls import reverse
from django.utils.translation import get_language, to_locale
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from cooperative import joining
from heaps import gate, guide, phone_words
from heaps.models import known_materials

KEPT_KINDS = (".css", ".js", ".svg")
OTHER_PAGES = "heaps/waiting-here.js"
#: What the kept recording pages are made of beside the files: another version of them is another version of the worker.
SHELL = ("base.html", "heaps/drop_off.html", "heaps/_drop_off_load.html", "heaps/_drop_off_looks.html",
         "heaps/_drop_off_work.html", "heaps/more.html", "heaps/_more_loads.html", "heaps/_more_ground.html",
         "heaps/_more_people.html", "heaps/_more_tests.html",
         "heaps/_materials.html", "heaps/_containers.html", "heaps/_recording_state.html",
         "heaps/_recording_unfinished.html", "heaps/_recording_keep.html", "heaps/_recording_foot.html",
         "heaps/_recorded.html", "heaps/_stepper.html", "heaps/_choices.html", "heaps/kept.html")  # fmt: skip
#: What the guide's pages are made of, likewise.
GUIDE = ("heaps/guide.html", "heaps/guide_chapter.html", "heaps/_guide_line.html", "heaps/_guide_search.html",
         "heaps/_guide_sources.html", "heaps/_guide_thing.html", "heaps/_values.html")  # fmt: skip


@require_safe
@cache_control(no_cache=True)
def service_worker(request: HttpRequest) -> HttpResponse:
    """The worker, at the root so that it sees every page. Its text changes when anything it keeps does."""
    if settings.WORKER_OFF:
        return HttpResponse(get_template("no-worker.js").template.source, content_type="text/javascript")  # type: ignore[attr-defined]  # as below
    files = kept_files()
    offline_page = render_to_string("offline.html")
    known = {
        "version": version(files, offline_page),
        "files": files,
        "shells": [reverse("heaps:drop_off"), reverse("heaps:more"), reverse("heaps:kept")],
        "board": reverse("heaps:board"),
        "tub": reverse("heaps:tub"),
        "guide": guide_pages(),
        "sign_in": reverse("members:sign_in"),
        "sign_out": reverse("members:sign_out"),
        "welcome": reverse("members:welcome"),
        "offline_page": offline_page,
    }
    text = get_template("service-worker.js").template.source  # type: ignore[attr-defined]  # its stubs lack it
    return HttpResponse(text.replace("KNOWN_TO_THE_SERVER", _for_script(known)), content_type="text/javascript")


def version(files: list[str], offline_page: str) -> str:
    """A short name for exactly these files, pages and materials."""
    materials = known_materials()
    digest = hashlib.sha256(
        json.dumps([files, offline_page, gate.feedstocks(), [said() for said in phone_words.RECORDING]]).encode()
    )
    digest.update(
        json.dumps([guide.answers(materials), guide.CHAPTERS, guide.for_phone(materials)], default=_plain).encode()
    )
    digest.update(language())
    for name in ("service-worker.js", *SHELL, *GUIDE):
        digest.update(get_template(name).template.source.encode())  # type: ignore[attr-defined]  # its stubs lack it
    return digest.hexdigest()[:16]


def language() -> bytes:
    """What the kept pages are said in: its name, and its catalogues."""
    code = get_language()
    files = [Path(folder) / to_locale(code) / "LC_MESSAGES" / "django.mo" for folder in settings.LOCALE_PATHS]
    return code.encode() + b"".join(file.read_bytes() for file in files if file.exists())


def guide_pages() -> list[str]:
    """The addresses of the guide and its chapters."""
    chapters = [reverse("heaps:guide_chapter", args=[key]) for key in guide.CHAPTERS]
    return [reverse("heaps:guide"), *chapters]


def kept_files() -> list[str]:
    """The addresses of our own style sheets, modules and drawings, their hashes in their names."""
    storage = staticfiles_storage
    assert isinstance(storage, ManifestStaticFilesStorage)  # noqa: S101 - set in the settings
    folder = settings.BASE_DIR / "static"
    needed_alone = joining.parts(folder, OTHER_PAGES)
    joined = {name for entry in joining.PAGES.values() for name in joining.parts(folder, entry)}
    joined_already = {f"heaps/{name}" for name in joined if name not in needed_alone} | {"heaps/drop-off.css"}
    names = sorted(name for name in storage.hashed_files if name.endswith(KEPT_KINDS))
    return [storage.url(name) for name in names if name not in joined_already]


@require_safe
@cache_control(max_age=3600)
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone shows when the page is put on its home screen."""
    icons = [
        {
            "src": staticfiles_storage.url(f"cooperative/{name}.png"),
            "sizes": size,
            "type": "image/png",
            "purpose": purpose,
        }
        for name, size, purpose in (
            ("icon-192", "192x192", "any"),
            ("icon-512", "512x512", "any"),
            ("icon-maskable-512", "512x512", "maskable"),
        )
    ]
    start = reverse("heaps:drop_off")
    return JsonResponse(
        {
            "id": start,
            "name": _("Cooperative Heaps"),
            "short_name": _("Heaps"),
            "start_url": start,
            "scope": "/",
            "display": "standalone",
            "background_color": "#f7f5ee",
            "theme_color": "#f7f5ee",
            "icons": icons,
            "shortcuts": [{"name": _("Record"), "url": start}, {"name": _("Heaps"), "url": reverse("heaps:board")}],
        },
        content_type="application/manifest+json",
    )


def _plain(one: object) -> object:
    """A part of the guide as JSON can write it: its fields, or its words."""
    return vars(one) if is_dataclass(one) else str(one)


def _for_script(known: Mapping[str, object]) -> str:
    return json.dumps(known).replace("<", "\\u003c")
