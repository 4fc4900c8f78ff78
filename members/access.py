"""Who may open a page: by role, by a proof that it is them, and never out of a cache."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, Literal, ParamSpec
from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import Resolver404, resolve, reverse
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.html import format_html
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from members.models import Member

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]
#: Roles that other apps know of, and who holds them. They enter theirs when they start.
FURTHER_ROLES: dict[str, Callable[[Member], bool]] = {}
#: What such roles are read from, so that it can be fetched for many people at once.
ROLES_STAND_IN: list[str] = []
#: Coordinators, of one site too, and administrators.
INVITERS = ("coordinator", "administrator", "steward")
Proof = Literal["passkey", "words", "password"]
PROOFS: tuple[Proof, ...] = ("passkey", "words", "password")  # the last one only where it will do

PROVED_KEY = "proved"
PROOF_SECONDS = 15 * 60
#: A page opens only while this much of the fifteen minutes is left: enough to fill its form in.
FILLING_IN_SECONDS = 5 * 60
#: What was made later than now was made by a clock that has been set back since, or by another host's.
CLOCKS_DIFFER_SECONDS = 60

read_or_send = require_http_methods(["GET", "HEAD", "POST"])


def role_required(*roles: str) -> Callable[[View[P]], View[P]]:
    """Let in who holds one of `roles`; "member" is everybody with a live account.

    Nobody signed in is sent to the sign-in page and comes back. Whoever lacks the role gets the 403 page.
    What is shown belongs to the person, so no browser or proxy keeps it.
    """

    return allowed(lambda person: any(holds(person, role) for role in roles))


def allowed(may: Callable[[Member], bool]) -> Callable[[View[P]], View[P]]:
    """Let in who may, as `role_required` does."""

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            person = signed_in(request)
            if person is None:
                return _no_store(redirect_to_login(request.get_full_path()))
            if not may(person):
                raise PermissionDenied
            return _no_store(view(request, *args, **kwargs))

        return guarded

    return decorate


def holds(person: Member, role: str) -> bool:
    """Whether somebody holds a role: one of the register, or one that another app knows of."""
    further = FURTHER_ROLES.get(role)
    return person.is_active and further(person) if further else person.has_role(role)


def proof_required(
    password_will_do: bool = False, only_for_roles: bool = False, typed: bool = False, offered_on: str = ""
) -> Callable[[View[P]], View[P]]:
    """Ask once more who somebody is, unless they have shown it within fifteen minutes. Stands below `role_required`.

    A password counts only where it `password_will_do`. `only_for_roles` lets in whoever holds no role. `typed` is for
    a page with typed fields, whose view acts on nothing but a POST: sent too late, it comes back as it was filled in.
    `offered_on` is for a file: the name of the page on which it is offered, whose address is filled in alike.
    """

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            person = signed_in(request)
            spared = only_for_roles and person is not None and not holds_a_role(person)
            if spared or _is_proved(request, password_will_do):
                return view(request, *args, **kwargs)
            if request.method != "POST" or not typed:
                return to_confirm(request, password_will_do)
            _give_back(request, _confirm_page("", password_will_do))
            return view(request, *args, **kwargs)

        vars(guarded)["offered_on"] = offered_on  # `wraps` hands it on to what stands above
        return guarded

    return decorate


def to_confirm(request: HttpRequest, password_will_do: bool = False) -> HttpResponse:
    """The way to where somebody shows who they are, and back."""
    return redirect(_confirm_page(request.get_full_path(), password_will_do))


def note_proof(request: HttpRequest, by: Proof) -> None:
    """Somebody has just shown who they are."""
    request.session[PROVED_KEY] = request.session.get(PROVED_KEY, {}) | {by: int(timezone.now().timestamp())}


def proof_holds(request: HttpRequest, password_will_do: bool = False, left: int = 0) -> bool:
    """Whether somebody has shown who they are within fifteen minutes, of which `left` seconds are still to come."""
    proved: dict[str, int] = request.session.get(PROVED_KEY, {})
    counts = PROOFS if password_will_do else PROOFS[:-1]
    last = max(proved.get(by, 0) for by in counts)
    return -CLOCKS_DIFFER_SECONDS <= timezone.now().timestamp() - last <= PROOF_SECONDS - left


def safe_next(request: HttpRequest) -> str:
    """Where somebody wanted to go, if that is an address of ours."""
    there = request.POST.get("next", request.GET.get("next", ""))
    ours = url_has_allowed_host_and_scheme(there, {request.get_host()}, require_https=request.is_secure())
    return there if ours else ""


def where_offered(file: str) -> str:
    """The page on which a file is offered that wants a proof; nothing, if that is no address of such a file."""
    try:
        found = resolve(urlsplit(file).path)
    except Resolver404:
        return ""
    page = getattr(found.func, "offered_on", "")
    return reverse(page, kwargs=found.kwargs) if page else ""


def no_store(view: View[P]) -> View[P]:
    """Keep a page's answer out of every cache."""

    @wraps(view)
    def unkept(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        return _no_store(view(request, *args, **kwargs))

    return unkept


def signed_in(request: HttpRequest) -> Member | None:
    """The person behind a request, if somebody is signed in and the account is live."""
    person = request.user
    return person if isinstance(person, Member) and person.is_active else None


def the_one_signed_in(request: HttpRequest) -> Member:
    """The person behind a request, on a page that only lets in people who are signed in."""
    person = signed_in(request)
    if person is None:
        raise PermissionDenied
    return person


def may_invite(person: Member) -> bool:
    """Whether somebody brings newcomers in, and sees who is who."""
    return any(holds(person, role) for role in INVITERS)


def may_help(person: Member, someone: Member) -> bool:
    """Whether `person` may let `someone` in on a new phone: never anybody with more roles than their own."""
    if holds(person, "administrator"):
        return True
    return may_invite(person) and not holds_a_role(someone)


def holds_a_role(person: Member) -> bool:
    """Whether somebody is more than a plain member."""
    return any(holds(person, role) for role in (*INVITERS, "treasurer"))


def secret_address(view: View[P]) -> View[P]:
    """For a page whose address lets somebody in: no cache keeps it, and no other page learns the address.

    Not `no-referrer`: with it, browsers send a form's POST with `Origin: null` (Fetch standard, "append a request
    Origin header"), which the check against forged forms must refuse. This one names the host, never the path.
    """

    @wraps(view)
    def secret(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        response = _no_store(view(request, *args, **kwargs))
        response["Referrer-Policy"] = "strict-origin"
        return response

    return secret


def _is_proved(request: HttpRequest, password_will_do: bool) -> bool:
    return proof_holds(request, password_will_do, left=0 if request.method == "POST" else FILLING_IN_SECONDS)


def _confirm_page(then: str, password_will_do: bool) -> str:
    """Where somebody shows who they are; the way for a password stands there only where it will do."""
    said = {"next": then, "password_will_do": "1" if password_will_do else ""}
    asked = urlencode({key: one for key, one in said.items() if one})
    return reverse("members:confirm") + (f"?{asked}" if asked else "")


def _give_back(request: HttpRequest, confirm_page: str) -> None:
    """Let a view show a form as it was filled in, and act on nothing."""
    says = _("Nothing is kept yet: it is a while since you showed that it is you.")
    how = _("Show it in a new tab")
    then = _("Then come back here and press the button again. A password has to be typed again, too.")
    link = '{} <a href="{}" target="_blank">{}</a>. {}'
    messages.warning(request, format_html(link, says, confirm_page, how, then))
    request.POST.keys()  # read while it is still one
    request.method = "GET"


def _no_store(response: HttpResponseBase) -> HttpResponseBase:
    add_never_cache_headers(response)
    return response
