"""The first start: a link names the cooperative and its first administrator."""

from django.contrib.auth import login
from django.core import signing
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from members.access import note_proof, read_or_send, secret_address
from members.forms import FirstStartForm
from members.models import Cooperative, Member

FIRST_START_SALT = "members.first_start"
FIRST_START_SECONDS = 3600
FIRST = 1  # there is one cooperative, so its number is known before it is there


@read_or_send
@secret_address
def first_start(request: HttpRequest, code: str) -> HttpResponse:
    """Name the cooperative and its first administrator, with a link that `set_up_link` printed."""
    if not first_start_code_holds(code):
        return render(request, "members/first_start_over.html", status=404)
    form = FirstStartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        first = _first_administrator(form)
        if first is None:
            return render(request, "members/first_start_over.html", status=404)
        login(request, first)
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
    return not _somebody_looks_after()


def _first_administrator(form: FirstStartForm) -> Member | None:
    """The new administrator; nobody, if another form came a moment before."""
    said = form.cleaned_data
    try:
        with transaction.atomic():
            _name_cooperative(said["cooperative"])
            if _somebody_looks_after():
                return None
            return Member.objects.create_member(said["username"], said["name"], said["password"], is_administrator=True)
    except IntegrityError:
        return None


def _name_cooperative(name: str) -> None:
    """One form at a time: a second waits here, for the row or for its number, until the first is done."""
    cooperative = Cooperative.objects.select_for_update().first()
    if cooperative is None:
        Cooperative.objects.create(pk=FIRST, name=name)
    else:
        cooperative.name = name
        cooperative.save(update_fields=["name"])


def _somebody_looks_after() -> bool:
    return Member.objects.filter(is_administrator=True, is_active=True).exists()
