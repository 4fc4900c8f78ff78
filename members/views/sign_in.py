"""Signing in and out."""

from django.contrib.auth.views import LoginView, LogoutView
from django.views.decorators.http import require_POST

from members.access import no_store, read_or_send
from members.forms import SignInForm

sign_in = read_or_send(
    no_store(LoginView.as_view(template_name="members/sign_in.html", authentication_form=SignInForm))
)
sign_out = require_POST(no_store(LogoutView.as_view(template_name="members/signed_out.html")))
