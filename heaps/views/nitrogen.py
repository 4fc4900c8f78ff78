"""Where nitrogen comes from, and how much of it is too much for one heap."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.board.nitrogen_words import nitrogen_for
from heaps.guide.cautions import CAUTIONS
from heaps.guide.shape import MARKS
from heaps.models import Bay
from members.access import role_required


@require_safe
@role_required("member")
def nitrogen(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Each source with what of it would do for this heap, what is too much, and what to mind."""
    bay = get_object_or_404(Bay.objects.select_related("site"), uid=uid)
    now = timezone.now()
    heap, sources = nitrogen_for(bay, now)
    minded = {key for one in sources for key in one.cautions}
    context = {
        "bay": bay,
        "time": now,
        "heap": heap,
        "sources": [(one, MARKS.get(one.source)) for one in sources],
        "cautions": [part for part in CAUTIONS.parts if part.key in minded],
    }
    return render(request, "heaps/nitrogen.html", context)
