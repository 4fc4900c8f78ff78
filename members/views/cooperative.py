"""The cooperative's own facts."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from members.access import read_or_send, role_required
from members.forms import CooperativeForm
from members.models import Cooperative


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
