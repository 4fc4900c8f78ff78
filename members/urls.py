"""Addresses of people: signing in and out, and the cooperative's register."""

from django.urls import path

from members.views import (
    coming_in,
    cooperative,
    devices,
    first_start,
    invite,
    new_phone,
    own_password,
    passkeys,
    proof,
    register,
    sign_in,
)

app_name = "members"
urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-in/question/", passkeys.question_to_sign_in, name="passkey_question"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("words/", coming_in.by_words, name="by_words"),
    path("join/<str:link>/", coming_in.join, name="join"),
    path("come-in/<str:link>/", coming_in.come_in, name="come_in"),
    path("welcome/", coming_in.welcome, name="welcome"),
    path("me/another-phone/", new_phone.another_phone, name="another_phone"),
    path("people/", new_phone.everyone, name="everyone"),
    path("people/invite/", invite.invite, name="invite"),
    path("people/<uuid:uid>/new-phone/", new_phone.new_phone, name="new_phone"),
    path("me/devices/", devices.devices, name="devices"),
    path("confirm/", proof.confirm, name="confirm"),
    path("confirm/question/", proof.question, name="confirm_question"),
    path("me/passkeys/", passkeys.own, name="passkeys"),
    path("me/passkeys/question/", passkeys.question_to_make, name="new_passkey_question"),
    path("password/", own_password.own_password, name="own_password"),
    path("set-up/first/<str:code>/", first_start.first_start, name="first_start"),
    path("set-up/cooperative/", cooperative.cooperative, name="cooperative"),
    path("set-up/people/", register.people, name="people"),
    path("set-up/people/add/", register.add_person, name="add_person"),
    path("set-up/people/<uuid:uid>/", register.person, name="person"),
    path("set-up/people/<uuid:uid>/password/", register.new_password, name="new_password"),
]
