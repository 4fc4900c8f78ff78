"""Where somebody is signed in, and how to end it there."""

import uuid
from datetime import datetime

from django.contrib import messages
from django.contrib.auth import logout
from django.db.models import Exists, OuterRef
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from members.access import read_or_send, role_required, signed_in
from members.models import Device, Member, Session
from members.sessions import DEVICE_KEY, KEPT_AFTER_END, end, is_quiet, settle


@read_or_send
@role_required("member")
def devices(request: HttpRequest) -> HttpResponse:
    """One's own devices, and those that were signed out of late.

    A POST signs out on one of them, or says that what was missing on it is seen to.
    """
    person = signed_in(request)
    if person is None:  # role_required has seen to it; this tells the type checker
        raise Http404
    if request.method == "POST" and "settled" in request.POST:
        settle(_device(request.POST["settled"], person))
        messages.success(request, _("Good. It is not shown any more."))
        return redirect("members:devices")
    if request.method == "POST":
        return _end(request, person)
    now, here = timezone.now(), request.session.get(DEVICE_KEY)
    live, ended = _devices(person, now)
    for one in (*live, *ended):
        one.is_quiet = one.pk != here and is_quiet(one, (*live, *ended), now)  # type: ignore[attr-defined]  # for the template
    context = {"live": live, "ended": ended, "this": here}
    return render(request, "members/devices.html", context)


def _devices(person: Member, now: datetime) -> tuple[list[Device], list[Device]]:
    """Where somebody is signed in, and where they were. A sign-in that ran out by itself has ended, too."""
    running = Session.objects.filter(device=OuterRef("pk"), expire_date__gt=now)
    live: list[Device] = []
    ended: list[Device] = []
    for device in person.devices.annotate(runs=Exists(running)):
        if device.runs and device.ended_at is None:
            live.append(device)
        elif (device.ended_at or device.last_seen_at) > now - KEPT_AFTER_END:
            ended.append(device)
    return live, ended


def _device(text: str, person: Member) -> Device:
    try:
        return get_object_or_404(person.devices, uid=uuid.UUID(text))
    except ValueError:
        raise Http404 from None


def _end(request: HttpRequest, person: Member) -> HttpResponse:
    device = _device(request.POST.get("device", ""), person)
    if device.pk == request.session.get(DEVICE_KEY):
        logout(request)
        return redirect("members:sign_in")  # the page where a phone forgets whose it was
    end(device)
    messages.success(request, _("Signed out there. What it recorded stays on it and can still be handed in."))
    return redirect("members:devices")
