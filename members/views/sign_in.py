"""Signing in, with a passkey or a password, and out."""

from typing import Any

from django.contrib.auth import login
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from members import limits, passkeys
from members.access import no_store, note_proof, read_or_send
from members.forms import SignInForm
from members.views.too_many import too_many


class SignIn(LoginView):
    """With one tap, or by sign-in name and password within the limits."""

    template_name = "members/sign_in.html"
    authentication_form = SignInForm

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if "answer" in request.POST:
            return self._with_passkey(request)
        name, password = request.POST.get("username", "").strip(), request.POST.get("password", "")
        if not (name and password):
            return super().post(request, *args, **kwargs)
        a_try = limits.password_try(request, name, timezone.now())
        if a_try.again_at:
            return too_many(request, a_try.again_at)
        self.a_try = a_try
        return super().post(request, *args, **kwargs)

    def _with_passkey(self, request: HttpRequest) -> HttpResponse:
        try:
            person = passkeys.shown(request, request.POST["answer"])
        except passkeys.NotShown:
            context = self.get_context_data(form=SignInForm(request), says=passkeys.NOT_SHOWN)
            return self.render_to_response(context)
        login(request, person)
        note_proof(request, "passkey")
        return redirect(self.get_success_url())

    def form_valid(self, form: Any) -> HttpResponse:
        self.a_try.was_right()
        response = super().form_valid(form)
        note_proof(self.request, "password")
        return response


sign_in = read_or_send(no_store(SignIn.as_view()))
sign_out = require_POST(no_store(LogoutView.as_view(template_name="members/signed_out.html")))
