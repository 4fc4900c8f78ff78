"""Words for another phone: one's own, or that of somebody who has lost theirs."""

import uuid
from collections import Counter

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import prefetch_related_objects
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from members import sessions, tickets
from members.access import (
    ROLES_STAND_IN,
    allowed,
    holds_a_role,
    may_help,
    may_invite,
    proof_holds,
    proof_required,
    read_or_send,
    role_required,
    the_one_signed_in,
    to_confirm,
)
from members.forms import NewPhoneForm
from members.models import Member
from members.views.shown_once import shown_once

TOO_MANY = gettext_lazy("Too many words and invitations are open. Try again in ten minutes.")


@read_or_send
@role_required("member")
@proof_required(only_for_roles=True)
def another_phone(request: HttpRequest) -> HttpResponse:
    """Let oneself in on another phone."""
    person = the_one_signed_in(request)
    if request.method == "POST":
        try:
            told = tickets.sign_in_words(person, person, timezone.now(), is_proof=proof_holds(request))
        except tickets.TooManyOpen:
            messages.error(request, TOO_MANY)
        else:
            return shown_once(request, told, _("Your other phone"))
    return render(request, "members/another_phone.html")


@require_safe
@allowed(may_invite)
def everyone(request: HttpRequest) -> HttpResponse:
    """Who belongs, and what each looks after."""
    helper = the_one_signed_in(request)
    people = list(Member.objects.filter(is_active=True))
    prefetch_related_objects(people, *ROLES_STAND_IN)
    can_help = {person.pk for person in people if person != helper and may_help(helper, person)}
    named = Counter(person.name.casefold() for person in people)
    namesakes = {person.pk for person in people if named[person.name.casefold()] > 1}  # words must reach the right one
    context = {"people": people, "can_help": can_help, "namesakes": namesakes}
    return render(request, "members/everyone.html", context)


@read_or_send
@allowed(may_invite)
@proof_required(password_will_do=True)
def new_phone(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Let somebody in on a new phone, and sign the lost one out."""
    helper = the_one_signed_in(request)
    someone = get_object_or_404(Member, uid=uid, is_active=True)
    if not may_help(helper, someone):
        raise PermissionDenied
    if holds_a_role(someone) and not proof_holds(request):  # words are as good as the roles of whom they let in
        return to_confirm(request)
    form = NewPhoneForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        if form.cleaned_data["ends_others"]:
            sessions.end_all(someone)
        try:
            told = tickets.sign_in_words(someone, helper, timezone.now())
        except tickets.TooManyOpen:
            form.add_error(None, TOO_MANY)
        else:
            return shown_once(request, told, _("A new phone for %(name)s") % {"name": someone.name})
    return render(request, "members/new_phone.html", {"form": form, "someone": someone})
