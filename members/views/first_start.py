"""The first start: a link names the cooperative and its first administrator."""

from django.contrib.auth import login
from django.core import signing
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from members.access import note_proof, read_or_send, secret_address
from members.forms import FirstStartForm
from members.models import Cooperative, Member

FIRST_START_SALT = "members.first_start"
FIRST_START_SECONDS = 3600


@read_or_send
@secret_address
def first_start(request: HttpRequest, code: str) -> HttpResponse:
    """Name the cooperative and its first administrator, with a link that `set_up_link` printed."""
    if not first_start_code_holds(code):
        return render(request, "members/first_start_over.html", status=404)
    form = FirstStartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        login(request, _first_administrator(form))
        note_proof(request, "words")
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
