"""Pages about people: signing in and out, the cooperative, and its register of people."""

import uuid

from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.views import LoginView, LogoutView
from django.core import signing
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from members.access import no_store, role_required, signed_in
from members.forms import (
    AddPersonForm,
    CooperativeForm,
    FirstStartForm,
    NewPasswordForm,
    OwnPasswordForm,
    PersonForm,
    SignInForm,
    is_last_administrator,
)
from members.models import Cooperative, Member

FIRST_START_SALT = "members.first_start"
FIRST_START_SECONDS = 3600
read_or_send = require_http_methods(["GET", "HEAD", "POST"])

sign_in = read_or_send(
    no_store(LoginView.as_view(template_name="members/sign_in.html", authentication_form=SignInForm))
)
sign_out = require_POST(no_store(LogoutView.as_view(template_name="members/signed_out.html")))


@read_or_send
@role_required("member")
def own_password(request: HttpRequest) -> HttpResponse:
    """Change one's own password; other phones of the same person have to sign in again."""
    person = signed_in(request)
    if person is None:  # role_required has seen to it; this tells the type checker
        raise Http404
    form = OwnPasswordForm(person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        person.set_password(form.cleaned_data["new"])
        person.save(update_fields=["password"])
        update_session_auth_hash(request, person)
        messages.success(request, _("Your password is changed."))
        return redirect("members:own_password")
    return render(request, "members/own_password.html", {"form": form})


@read_or_send
@no_store
def first_start(request: HttpRequest, code: str) -> HttpResponse:
    """Name the cooperative and its first administrator, with a link that `set_up_link` printed."""
    if not first_start_code_holds(code):
        return render(request, "members/first_start_over.html", status=404)
    form = FirstStartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        login(request, _first_administrator(form))
        return redirect("/set-up/")
    return render(request, "members/first_start.html", {"form": form})


def first_start_code() -> str:
    """A code for the first start's address, good for an hour."""
    return signing.TimestampSigner(salt=FIRST_START_SALT).sign("first")


def first_start_code_holds(code: str) -> bool:
    """Whether the code is ours and young, and nobody looks after the register yet."""
    try:
        signing.TimestampSigner(salt=FIRST_START_SALT).unsign(code, max_age=FIRST_START_SECONDS)
    except signing.BadSignature:
        return False
    return not Member.objects.filter(is_administrator=True, is_active=True).exists()


@transaction.atomic
def _first_administrator(form: FirstStartForm) -> Member:
    cooperative = Cooperative.objects.first() or Cooperative()
    cooperative.name = form.cleaned_data["cooperative"]
    cooperative.save()
    said = form.cleaned_data
    return Member.objects.create_member(said["username"], said["name"], said["password"], is_administrator=True)


@read_or_send
@role_required("administrator")
def cooperative(request: HttpRequest) -> HttpResponse:
    """The cooperative's own facts."""
    form = CooperativeForm(request.POST or None, instance=Cooperative.objects.first())
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Kept."))
        return redirect("/set-up/")
    return render(request, "members/cooperative.html", {"form": form})


@require_safe
@role_required("administrator")
def people(request: HttpRequest) -> HttpResponse:
    """The register."""
    return render(request, "members/people.html", {"people": Member.objects.all()})


@read_or_send
@role_required("administrator")
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
@transaction.atomic
def person(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """Someone's name and roles; `close` ends the account, `open` brings it back."""
    list(Member.objects.select_for_update().filter(is_administrator=True))  # two may not remove each other
    someone = get_object_or_404(Member, uid=uid)
    if request.method == "POST" and request.POST.get("account") in ("close", "open"):
        return _close_or_open(request, someone)
    form = PersonForm(request.POST or None, instance=someone)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Kept."))
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
    says = _("%(name)s can sign in again.") if opens else _("%(name)s can no longer sign in.")
    messages.success(request, says % {"name": someone.name})
    return redirect("members:people")


@read_or_send
@role_required("administrator")
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
