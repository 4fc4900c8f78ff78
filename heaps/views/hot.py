"""Building a hot heap from what is there."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from heaps import history, ledger
from heaps.board.hot import build, lines_for, three_weeks
from heaps.models import Bay, HotHeap
from heaps.stewards import care_of
from members.access import read_or_send, role_required, signed_in


@read_or_send
@role_required("member")
def hot(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """What to build it of, in layers. A POST of whoever looks after the site puts its checklist on the heap's page."""
    bay = get_object_or_404(Bay.objects.select_related("site"), uid=uid)
    today = bay.site.day_of(timezone.now())
    if request.method == "POST":
        if bay.site_id not in care_of(signed_in(request)):
            raise PermissionDenied
        HotHeap.objects.get_or_create(bay=bay, built_on=today)
        return redirect("heaps:heap", bay.uid)
    lines, shed, materials = lines_for(bay, {key: str(said) for key, said in request.GET.items()})
    state = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState())
    context = {
        "bay": bay,
        "lines": lines,
        "built": build(bay, lines, shed, materials) if any(one.count for one in lines) else None,
        "is_empty": state.batch is None,
        "weeks": three_weeks(today, today),
    }
    return render(request, "heaps/hot.html", context)
