"""Passkeys: the list of one's own, and what a phone is asked."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from members import passkeys
from members.access import no_store, proof_required, read_or_send, role_required, safe_next, the_one_signed_in
from members.models import Member

NOT_MADE = gettext_lazy("That did not work, so nothing is kept. Try once more.")


@require_POST
@no_store
def question_to_sign_in(request: HttpRequest) -> HttpResponse:
    """What a phone is asked at sign-in. By POST, so that a look at the page leaves no row behind."""
    return HttpResponse(passkeys.question_to_show(request), content_type="application/json")


@read_or_send
@role_required("member")
@proof_required(only_for_roles=True)
def own(request: HttpRequest) -> HttpResponse:
    """One's own passkeys; a phone's answer makes another, and each can be taken away."""
    person, says = the_one_signed_in(request), ""
    if request.method == "POST" and "take_away" in request.POST:
        return _take_away(request, person)
    if request.method == "POST":
        try:
            passkeys.keep(request, person, request.POST.get("answer", ""))
        except passkeys.NotShown:
            says = str(NOT_MADE)
        else:
            messages.success(request, _("Done. Next time, one tap signs you in."))
            return redirect(safe_next(request) or "members:passkeys")
    return render(request, "members/passkeys.html", {"keys": person.passkeys.all(), "says": says})


def _take_away(request: HttpRequest, person: Member) -> HttpResponse:
    """A passkey that opens nothing from now on."""
    number = request.POST["take_away"]
    get_object_or_404(person.passkeys, pk=number if number.isdecimal() and len(number) < 18 else 0).delete()
    messages.success(request, _("Taken away. It signs nobody in any more. You can delete it on the phone, too."))
    return redirect("members:passkeys")


@require_POST
@role_required("member")
@proof_required(only_for_roles=True)
def question_to_make(request: HttpRequest) -> HttpResponse:
    """What a phone is told so that it makes a passkey."""
    return HttpResponse(passkeys.question_to_make(request, the_one_signed_in(request)), content_type="application/json")
