"""Signing in, with a passkey or a password, and out."""

from typing import Any

from django.contrib.auth import login, logout
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

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
        return HttpResponseRedirect(self.get_success_url())

    def form_valid(self, form: Any) -> HttpResponse:
        self.a_try.was_right()
        response = super().form_valid(form)
        note_proof(self.request, "password")
        return response


class SignOut(LogoutView):
    """Only a sent form ends the session. It leads on to a page of its own, so that whoever goes on can come back."""

    http_method_names = ["get", "head", "post"]
    template_name = "members/signed_out.html"

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return redirect("/") if request.user.is_authenticated else self.render_to_response(self.get_context_data())

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        logout(request)
        return HttpResponseRedirect(self.get_redirect_url() or reverse("members:sign_out"))


sign_in = read_or_send(no_store(SignIn.as_view()))
sign_out = read_or_send(no_store(SignOut.as_view()))
