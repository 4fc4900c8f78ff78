"""Building a hot heap from what is there."""

import uuid
from datetime import date

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from heaps import history, ledger
from heaps.board.hot import MOST, build, lines_for, three_weeks
from heaps.models import Bay, HotHeap
from heaps.stewards import care_of
from members.access import read_or_send, role_required, signed_in


@read_or_send
@role_required("member")
def hot(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """What to build it of, in layers. A POST of whoever looks after the site puts its checklist on the heap's page."""
    bay = get_object_or_404(Bay.objects.select_related("site"), uid=uid)
    now = timezone.now()
    today = bay.site.day_of(now)
    is_empty = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState()).batch is None
    if request.method == "POST":
        return _put_up(request, bay, today, is_empty)
    lines, shed, materials = lines_for(bay, {key: str(said) for key, said in request.GET.items()})
    wrong = [one for one in lines if one.count is None]
    context = {
        "bay": bay,
        "time": now,
        "lines": lines,
        "wrong": wrong,
        "most": MOST,
        "built": build(bay, lines, shed, materials) if any(one.count for one in lines) and not wrong else None,
        "is_empty": is_empty,
        "weeks": three_weeks(today, today),
    }
    return render(request, "heaps/hot.html", context)


def _put_up(request: HttpRequest, bay: Bay, today: date, is_empty: bool) -> HttpResponse:
    """The checklist goes on the heap's page; where no load is recorded yet, somebody is told that it waits for one."""
    if bay.site_id not in care_of(signed_in(request)):
        raise PermissionDenied
    HotHeap.objects.get_or_create(bay=bay, built_on=today)
    if is_empty:
        messages.success(request, _("Kept. The list stands here as soon as a load is recorded in this bay."))
    return redirect("heaps:heap", bay.uid)
