"""Who may open a page: by role, and never out of a cache."""

import time
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.utils.cache import add_never_cache_headers
from django.views.decorators.http import require_http_methods

from members.models import Member

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]
#: Roles that other apps know of, and who holds them. They enter theirs when they start.
FURTHER_ROLES: dict[str, Callable[[Member], bool]] = {}
#: Coordinators, of one site too, and administrators.
INVITERS = ("coordinator", "administrator", "steward")

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


def note_proof(request: HttpRequest, by: str) -> None:
    """Remember in the session how and when somebody last proved who they are: words, passkey or password."""
    request.session["proved"] = {"by": by, "at": int(time.time())}


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


def _no_store(response: HttpResponseBase) -> HttpResponseBase:
    add_never_cache_headers(response)
    return response
