"""Pages on which somebody takes along what is kept about them, or leaves."""

import uuid

from django.contrib import messages
from django.contrib.auth import logout
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from cooperative import leaving
from members.access import role_required, signed_in
from members.forms import PasswordAgainForm, is_last_administrator
from members.models import Member

read_or_send = require_http_methods(["GET", "HEAD", "POST"])
ONLY_ADMINISTRATOR = gettext_lazy("This is the only administrator. Make somebody else an administrator first.")


@require_safe
@role_required("member")
def everything(request: HttpRequest) -> StreamingHttpResponse:
    """Everything about the person who asks, as a file."""
    pieces = leaving.everything(_person(request), timezone.now())
    response = StreamingHttpResponse(pieces, content_type="application/json; charset=utf-8")
    response["Content-Disposition"] = 'attachment; filename="everything-about-me.json"'
    return response


@read_or_send
@role_required("member")
def leave(request: HttpRequest) -> HttpResponse:
    """What goes and what stays when one leaves; with the password, one does."""
    person = _person(request)
    form = PasswordAgainForm(person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            leaving.erase(person.pk)
        except leaving.StaysBehind:
            form.add_error(None, ONLY_ADMINISTRATOR)
        else:
            logout(request)
            messages.success(
                request, _("You have left. Your name is gone from here. What you brought stays. Thank you.")
            )
            return redirect("members:sign_in")  # the page where a phone forgets whose it was and what it had seen
    return render(
        request,
        "members/leave.html",
        {"form": form, "keeps": leaving.months_kept(), "stays": is_last_administrator(person)},
    )


@read_or_send
@role_required("administrator")
def erase(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Let somebody go who has asked for it, or who is no longer there to ask."""
    someone, person = get_object_or_404(Member, uid=uid), _person(request)
    if someone == person:
        return redirect("leave")
    form = PasswordAgainForm(person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            leaving.erase(someone.pk)
        except leaving.StaysBehind:
            form.add_error(None, ONLY_ADMINISTRATOR)
        else:
            messages.success(request, _("Erased. What was recorded stays, without a name."))
            return redirect("members:people")
    return render(request, "members/erase.html", {"form": form, "keeps": leaving.months_kept(), "someone": someone})


def _person(request: HttpRequest) -> Member:
    person = signed_in(request)
    if person is None:  # role_required has seen to it; this tells the type checker
        raise Http404
    return person
