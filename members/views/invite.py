"""Inviting newcomers: at the gate now, or with a link to send; and what is still open."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from members import tickets
from members.access import allowed, may_invite, read_or_send, the_one_signed_in
from members.views.shown_once import shown_once

LASTS = {"gate": tickets.AT_THE_GATE, "send": tickets.TO_SEND}


@read_or_send
@allowed(may_invite)
def invite(request: HttpRequest) -> HttpResponse:
    """Make an invitation and show it once, or take one back."""
    now, says = timezone.now(), ""
    lasts = LASTS.get(request.POST.get("lasts", ""))
    if lasts:
        try:
            told = tickets.invite(the_one_signed_in(request), lasts, now)
            return shown_once(request, told, _("Someone new"))
        except tickets.TooManyOpen:
            says = _("Too many invitations are open. Take some back first.")
    elif "take_back" in request.POST:
        return _take_back(request)
    elif request.method == "POST":
        says = _("Choose one of the two ways.")
    return render(request, "members/invite.html", {"open": tickets.open_invitations(now), "says": says})


def _take_back(request: HttpRequest) -> HttpResponse:
    number = request.POST["take_back"]
    known = number.isascii() and number.isdigit() and len(number) < 18
    if known and tickets.take_back(int(number), timezone.now()):
        messages.success(request, _("Taken back. It lets nobody in any more."))
    else:
        messages.info(request, _("It was not open any more."))
    return redirect("members:invite")
