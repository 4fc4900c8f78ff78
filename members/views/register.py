"""The register of people: who is in it, what they may do, and new passwords."""

import uuid

from django.contrib import messages
from django.contrib.auth import logout
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from members import sessions
from members.access import proof_required, read_or_send, role_required
from members.forms import AddPersonForm, NewPasswordForm, PersonForm, is_last_administrator
from members.models import Member


@require_safe
@role_required("administrator")
def people(request: HttpRequest) -> HttpResponse:
    """The register."""
    return render(request, "members/people.html", {"people": Member.objects.all()})


@read_or_send
@role_required("administrator")
@proof_required(typed=True)
def add_person(request: HttpRequest) -> HttpResponse:
    """Someone new."""
    form = AddPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        someone: Member = form.save(commit=False)
        someone.set_password(form.cleaned_data["password"])
        someone.save()
        messages.success(request, _("%(name)s can sign in now.") % {"name": someone.name})
        return redirect("members:people")
    return render(request, "members/add_person.html", {"form": form})


@read_or_send
@role_required("administrator")
@proof_required(typed=True)
@transaction.atomic
def person(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Someone's name and roles; `close` ends the account, `open` brings it back."""
    list(Member.objects.select_for_update().filter(is_administrator=True))  # two may not remove each other
    someone = get_object_or_404(Member, uid=uid)
    if request.method == "POST" and request.POST.get("account") in ("close", "open"):
        return _close_or_open(request, someone)
    typed = None if "account" in request.POST else request.POST or None
    form = PersonForm(typed, instance=someone)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Kept."))
        if form.gives_a_role and someone != request.user:
            sessions.begin_anew(someone)
            messages.info(request, sessions.SIGNS_IN_ANEW % {"name": someone.name})
        return redirect("members:people")
    return render(request, "members/person.html", {"form": form, "someone": someone})


def _close_or_open(request: HttpRequest, someone: Member) -> HttpResponse:
    opens = request.POST["account"] == "open"
    if not opens and is_last_administrator(someone):
        says = _("This is the only administrator. Make somebody else an administrator first.")
        context = {"form": PersonForm(instance=someone), "someone": someone, "says": says}
        return render(request, "members/person.html", context)
    someone.is_active = opens
    someone.save(update_fields=["is_active"])
    if not opens:
        _signed_out(request, someone)
    says = _("%(name)s can sign in again.") if opens else _("%(name)s can no longer sign in.")
    messages.success(request, says % {"name": someone.name})
    return redirect("members:people")


def _signed_out(request: HttpRequest, someone: Member) -> None:
    """Wherever somebody was signed in, they are not when their account is opened again."""
    if someone == request.user:
        logout(request)
    sessions.end_all(someone)


@read_or_send
@role_required("administrator")
@proof_required()
def new_password(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """A new password for somebody who has lost theirs."""
    someone = get_object_or_404(Member, uid=uid)
    form = NewPasswordForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        someone.set_password(form.cleaned_data["new"])
        someone.save(update_fields=["password"])
        messages.success(request, _("%(name)s has a new password.") % {"name": someone.name})
        return redirect("members:person", uid=someone.uid)
    return render(request, "members/new_password.html", {"form": form, "someone": someone})
