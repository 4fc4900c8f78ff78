"""What heaps are brought to: own figures with the published ones beside them."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from heaps.models import OwnTargets, targets_here
from heaps.science.targets import ACCEPTABLE, IDEAL, LEFT_ALONE
from heaps.targets_form import PUBLISHED, TargetsForm
from members.access import read_or_send, role_required

LATEST = 10


@read_or_send
@role_required("coordinator", "administrator")
@transaction.atomic
def targets(request: HttpRequest) -> HttpResponse:
    """Keep five figures, or take the published ones again. What was decided before stays in the list."""
    if request.POST.get("says") == "published":
        OwnTargets.objects.create(decided_at=timezone.now())
        messages.success(request, _("The published figures hold again."))
        return redirect("heaps:targets")
    last = OwnTargets.objects.last()
    own = {name: getattr(last, name) for name in PUBLISHED if last and getattr(last, name) is not None}
    form = TargetsForm(request.POST or None, initial={**PUBLISHED, **own})
    if request.method == "POST" and form.is_valid():
        OwnTargets.objects.create(decided_at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("Kept. What to add is reckoned by it from now on."))
        return redirect("heaps:targets")
    context = {
        "form": form,
        "ranges": [
            (_("Here, now"), targets_here(), ""),
            (_("Published: ideal"), IDEAL, "COMPHB, COR-MIX, TN24"),
            (_("Published: will do"), ACCEPTABLE, "COOP02, COMPHB, TN24"),
            (_("Left alone: nothing is asked"), LEFT_ALONE, "COOP02, COMPHB"),
        ],
        "is_own": bool(own),
        "decided": OwnTargets.objects.order_by("-pk")[:LATEST],
    }
    return render(request, "set_up/targets.html", context)
