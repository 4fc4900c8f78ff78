"""One's own password."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from members import limits
from members.access import proof_holds, read_or_send, role_required, signed_in, to_confirm
from members.forms import OwnPasswordForm
from members.models import Member
from members.views.too_many import too_many


@read_or_send
@role_required("member")
def own_password(request: HttpRequest) -> HttpResponse:
    """Change one's own password; other phones of the same person have to sign in again."""
    person = signed_in(request)
    if person is None:  # role_required has seen to it; this tells the type checker
        raise Http404
    if not person.has_usable_password() and not proof_holds(request):
        return to_confirm(request)  # whoever only holds the phone must not make a way in of their own
    a_try = _guess(request, person)
    if a_try.again_at:
        return too_many(request, a_try.again_at)
    form = OwnPasswordForm(person, request.POST or None)
    if "old" not in form.errors:
        a_try.was_right()
    if request.method == "POST" and form.is_valid():
        person.set_password(form.cleaned_data["new"])
        person.save(update_fields=["password"])
        update_session_auth_hash(request, person)
        messages.success(request, _("Your password is changed."))
        return redirect("members:own_password")
    return render(request, "members/own_password.html", {"form": form})


def _guess(request: HttpRequest, person: Member) -> limits.Try:
    """A try at the password until now, which whoever holds the phone may be guessing; or none at all."""
    if not (person.has_usable_password() and request.POST.get("old")):
        return limits.Try()
    return limits.password_try(request, person.username, timezone.now())
