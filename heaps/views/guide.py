"""The guide: what goes in, its search, and its chapters."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from heaps.guide import ANSWERS, CHAPTERS, answers, for_phone, search, sources
from heaps.models import known_materials


@require_safe
def guide(request: HttpRequest) -> HttpResponse:
    """For everybody, signed in or not. Phones keep this page."""
    words = request.GET.get("q", "").strip()[:80]
    materials = known_materials()
    context = {
        "words": words,
        "found": search(words, materials) if words else None,
        "answers": answers(materials),
        "said": ANSWERS,
        "chapters": CHAPTERS.values(),
        "sources": sources(),
        "index": for_phone(materials),
    }
    return render(request, "heaps/guide.html", context)


@require_safe
def chapter(request: HttpRequest, key: str) -> HttpResponse:
    """One chapter, for everybody, too."""
    if key not in CHAPTERS:
        raise Http404
    return render(request, "heaps/guide_chapter.html", {"chapter": CHAPTERS[key], "chapters": CHAPTERS.values()})
