"""Before a turn: will it fit?"""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.board.fitting import turning
from heaps.models import Bay
from members.access import role_required

SHARES = {"100": 100, "50": 50}


@require_safe
@role_required("member")
def fit(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Choose what is turned into a bay, and read whether there is room. Nothing is kept of it."""
    bay = get_object_or_404(Bay.objects.select_related("site"), uid=uid)
    shares = {key: SHARES[share] for key, share in request.GET.items() if share in SHARES}
    return render(request, "heaps/fit.html", {"bay": bay, "time": timezone.now(), "turning": turning(bay, shares)})
