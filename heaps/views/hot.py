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
from heaps.board.hot import MOST, build, hot_heap_in, lines_for, may_be_built, three_weeks
from heaps.models import Bay, HotHeap
from heaps.stewards import care_of
from members.access import read_or_send, role_required, signed_in


@read_or_send
@role_required("member")
def hot(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """What to build it of, in layers. A POST of whoever looks after the site puts its checklist on the heap's page, or
    takes it down."""
    bay = get_object_or_404(Bay.objects.select_related("site"), uid=uid)
    now = timezone.now()
    today = bay.site.day_of(now)
    state = history.current_states([bay.site_id]).get(str(bay.uid), ledger.BayState())
    up = hot_heap_in(bay, state, now) if state.batch else bay.hot_heaps.filter(built_on=today).first()
    if request.method == "POST":
        if bay.site_id not in care_of(signed_in(request)):
            raise PermissionDenied
        if request.POST.get("says") == "down":
            return _take_down(request, bay, up)
        return _put_up(request, bay, state, today)
    lines, shed, materials = lines_for(bay, {key: str(said) for key, said in request.GET.items()})
    wrong = [one for one in lines if one.count is None]
    context = {
        "bay": bay,
        "time": now,
        "lines": lines,
        "wrong": wrong,
        "most": MOST,
        "built": build(bay, lines, shed, materials) if any(one.count for one in lines) and not wrong else None,
        "may_be_built": may_be_built(bay, state, today),
        "up": up,
        "weeks": three_weeks(today, today),
    }
    return render(request, "heaps/hot.html", context)


def _put_up(request: HttpRequest, bay: Bay, state: ledger.BayState, today: date) -> HttpResponse:
    """The checklist goes on the heap's page; where no load is recorded yet, somebody is told that it waits for one."""
    if not may_be_built(bay, state, today):  # something came since the page was opened
        messages.warning(request, _("Nothing is put up: what lies in %(bay)s was not begun today.") % {"bay": bay})
        return redirect("heaps:hot", bay.uid)
    HotHeap.objects.get_or_create(bay=bay, built_on=today)
    if state.batch is None:
        messages.success(request, _("Kept. The list stands here as soon as a load is recorded in this bay."))
    return redirect("heaps:heap", bay.uid)


def _take_down(request: HttpRequest, bay: Bay, up: HotHeap | None) -> HttpResponse:
    """The checklist that somebody saw goes; one that is put up beside it stays, though the button is pressed twice."""
    if up is not None and str(up.pk) == request.POST.get("which"):
        up.delete()
        messages.success(request, _("The list of the hot heap is taken down. All that was recorded stays."))
    return redirect("heaps:heap", bay.uid)
