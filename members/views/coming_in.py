"""Coming in by a link or by four words: newcomers, and members on another phone."""

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from members import limits, tickets
from members.access import note_proof, read_or_send, role_required, secret_address, signed_in
from members.forms import NewcomerForm, WordsForm
from members.models import Cooperative, Member, Ticket
from members.views.too_many import too_many

NO_FIT = _("These words do not let anybody in. Check each of them. They may be over: then ask for new ones.")


@read_or_send
@secret_address
def join(request: HttpRequest, link: str) -> HttpResponse:
    """A newcomer opens an invitation. Only the sent form uses it up."""
    return _by_link(request, link, for_newcomer=True)


@read_or_send
@secret_address
def come_in(request: HttpRequest, link: str) -> HttpResponse:
    """A member opens their link on another phone. Only the button uses it up, and no name is told before."""
    return _by_link(request, link, for_newcomer=False)


@read_or_send
@secret_address
def by_words(request: HttpRequest) -> HttpResponse:
    """Four words, of either kind; for a newcomer the name comes next."""
    if signed_in(request):
        return _somebody_is_here(request)
    form = WordsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        a_try = limits.words_try(request, timezone.now())
        if a_try.again_at:
            return too_many(request, a_try.again_at)
        ticket = tickets.by_words(form.cleaned_data["words"], timezone.now())
        if ticket:
            a_try.was_right()
            return _let_in(request, ticket, words=" ".join(form.cleaned_data["words"]))
        form.add_error("words", NO_FIT)
    return render(request, "members/words.html", {"form": form})


@require_safe
@role_required("member")
def welcome(request: HttpRequest) -> HttpResponse:
    """Who one is here, and what to do next."""
    return render(request, "members/welcome.html", {"cooperative": Cooperative.objects.first()})


def _by_link(request: HttpRequest, link: str, for_newcomer: bool) -> HttpResponse:
    ticket = tickets.by_link(link, timezone.now())  # long and random: nobody guesses one, so no try is counted
    if ticket is None or (ticket.member_id is None) is not for_newcomer:
        return _over(request)
    if signed_in(request):
        return _somebody_is_here(request)
    return _let_in(request, ticket)


def _let_in(request: HttpRequest, ticket: Ticket, words: str = "") -> HttpResponse:
    """Let somebody in who has shown a ticket: at once with words; with a link, only when its button was pressed."""
    if ticket.member_id is None:
        return _newcomer(request, ticket, words)
    if request.method != "POST":
        return render(request, "members/come_in.html", {"cooperative": Cooperative.objects.first()})
    try:
        return _signed_in_as(request, tickets.come_in(ticket, timezone.now()), ticket.is_proof)
    except tickets.Over:
        return _over(request)


def _newcomer(request: HttpRequest, ticket: Ticket, words: str) -> HttpResponse:
    said = request.method == "POST" and ("name" in request.POST or not words)  # not yet, when the words came just now
    form = NewcomerForm(request.POST if said else None)
    if said and form.is_valid():
        try:
            person = tickets.join(ticket, form.cleaned_data["name"], timezone.now())
            return _signed_in_as(request, person, is_proof=True)
        except tickets.Over:
            return _over(request)
    context = {"form": form, "words": words, "cooperative": Cooperative.objects.first()}
    return render(request, "members/join.html", context)


def _signed_in_as(request: HttpRequest, person: Member, is_proof: bool) -> HttpResponse:
    login(request, person)
    if is_proof:
        note_proof(request, "words")
    return redirect("members:welcome")


def _over(request: HttpRequest) -> HttpResponse:
    """One answer for a ticket that was used, has ended, was taken back or never was."""
    return render(request, "members/ticket_over.html", status=404)


def _somebody_is_here(request: HttpRequest) -> HttpResponse:
    """Somebody is signed in: say who, and change nothing."""
    return render(request, "members/somebody_is_here.html", status=409 if request.method == "POST" else 200)
