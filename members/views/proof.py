"""The page on which somebody shows once more that it is them, before something that matters."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from members import limits, passkeys, tickets
from members.access import (
    holds_a_role,
    note_proof,
    proof_holds,
    read_or_send,
    role_required,
    safe_next,
    the_one_signed_in,
    where_offered,
)
from members.forms import WordsForm
from members.models import Member
from members.views.coming_in import NO_FIT
from members.views.too_many import too_many

NO_PROOF = gettext_lazy(
    "You made these words yourself, so they do not show that it is you. Ask a coordinator for four words."
)


@read_or_send
@role_required("member")
def confirm(request: HttpRequest) -> HttpResponse:
    """Show that it is you, by one of three ways, and go on."""
    person, form, says = the_one_signed_in(request), WordsForm(), ""
    if request.method == "POST" and "words" in request.POST:
        form = WordsForm(request.POST)
        if again := _too_often(request, person, form):
            return again
    elif request.method == "POST":
        found = _why_not(request, person)
        if isinstance(found, HttpResponse):
            return found
        says = found
    if request.method == "POST" and not (says or form.errors):
        return _go_on(request)
    context = {
        "next": safe_next(request),
        "form": form,
        "says": says,
        "done": proof_holds(request, password_will_do=True) and not safe_next(request),
        "has_role": holds_a_role(person),
        "has_passkey": person.passkeys.exists(),
        "password_will_do": _password_will_do(request, person),
    }
    return render(request, "members/confirm.html", context)


@require_POST
@role_required("member")
def question(request: HttpRequest) -> HttpResponse:
    """What a phone is asked so that somebody shows one of their own passkeys."""
    asked = passkeys.question_to_show(request, the_one_signed_in(request))
    return HttpResponse(asked, content_type="application/json")


def _go_on(request: HttpRequest) -> HttpResponse:
    """To where somebody wanted to go; for a file to where it is offered, because a file leaves the page that led to it
    standing: this one, as if nothing had been shown."""
    there = safe_next(request)
    page = where_offered(there)
    if page:
        messages.success(request, _("It is you. Ask for the file once more, and it comes."))
    return redirect(page or there or "members:confirm")


def _why_not(request: HttpRequest, person: Member) -> str | HttpResponse:
    """Note the passkey or password that was sent; or say what is wrong with it, or that it was too often."""
    if "answer" in request.POST:
        try:
            passkeys.shown(request, request.POST["answer"], person)
        except passkeys.NotShown:
            return str(passkeys.NOT_SHOWN)
        note_proof(request, "passkey")
        return ""
    if not _password_will_do(request, person):
        return _("Choose one of the ways below.")
    a_try = limits.password_try(request, person.username, timezone.now())
    if a_try.again_at:
        return too_many(request, a_try.again_at)
    if not person.check_password(request.POST.get("password", "")):
        return _("This is not your password. Type it again.")
    a_try.was_right()
    note_proof(request, "password")
    return ""


def _too_often(request: HttpRequest, person: Member, form: WordsForm) -> HttpResponse | None:
    """Note the words that were sent, say in the form what is wrong with them, or that it was too often."""
    if not form.is_valid():
        return None
    now = timezone.now()
    a_try = limits.words_try(request, now)
    if a_try.again_at:
        return too_many(request, a_try.again_at)
    ticket = tickets.by_words(form.cleaned_data["words"], now)
    if ticket is not None and ticket.member_id == person.pk and not ticket.is_proof:
        a_try.was_right()
        form.add_error("words", NO_PROOF)
        return None
    try:
        if ticket is None or ticket.member_id != person.pk:
            raise tickets.Over
        tickets.come_in(ticket, now)
    except tickets.Over:
        form.add_error("words", NO_FIT)
    else:
        a_try.was_right()
        note_proof(request, "words")
    return None


def _password_will_do(request: HttpRequest, person: Member) -> bool:
    """Whether the page that comes next takes a password. Only the way to it is shown or not: the page decides."""
    asked = request.POST.get("password_will_do", request.GET.get("password_will_do", ""))
    return asked == "1" and person.has_usable_password()
