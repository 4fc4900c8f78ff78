"""Pages on which somebody takes along what is kept about them, or leaves."""

import uuid

from django.contrib import messages
from django.contrib.auth import logout
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from cooperative import leaving
from members.access import proof_required, read_or_send, role_required, signed_in
from members.forms import is_last_administrator
from members.models import Member

ONLY_ADMINISTRATOR = gettext_lazy("This is the only administrator. Make somebody else an administrator first.")


@require_safe
@role_required("member")
@proof_required(password_will_do=True, offered_on="heaps:mine")
def everything(request: HttpRequest) -> StreamingHttpResponse:
    """Everything about the person who asks, as a file."""
    pieces = leaving.everything(_person(request), timezone.now())
    response = StreamingHttpResponse(pieces, content_type="application/json; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="everything-about-me.json"'
    return response


@read_or_send
@role_required("member")
@proof_required(password_will_do=True)
def leave(request: HttpRequest) -> HttpResponse:
    """What goes and what stays when one leaves; with the button, one does."""
    person = _person(request)
    stays = is_last_administrator(person)
    if request.method == "POST":
        try:
            leaving.erase(person.pk)
        except leaving.StaysBehind:
            stays = True
        else:
            logout(request)
            messages.success(
                request, _("You have left. Your name is gone from here. What you brought stays. Thank you.")
            )
            return redirect("members:sign_in")  # the page where a phone forgets whose it was and what it had seen
    return render(request, "members/leave.html", {"keeps": leaving.months_kept(), "stays": stays})


@read_or_send
@role_required("administrator")
@proof_required()
def erase(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Let somebody go who has asked for it, or who is no longer there to ask."""
    someone, says = get_object_or_404(Member, uid=uid), ""
    if someone == _person(request):
        return redirect("leave")
    if request.method == "POST":
        try:
            leaving.erase(someone.pk)
        except leaving.StaysBehind:
            says = str(ONLY_ADMINISTRATOR)
        else:
            messages.success(request, _("Erased. What was recorded stays, without a name."))
            return redirect("members:people")
    return render(request, "members/erase.html", {"says": says, "keeps": leaving.months_kept(), "someone": someone})


def _person(request: HttpRequest) -> Member:
    person = signed_in(request)
    if person is None:  # role_required has seen to it; this tells the type checker
        raise Http404
    return person
