"""Addresses of people: signing in and out, and the cooperative's register."""

from django.urls import path

from members.views import cooperative, first_start, own_password, register, sign_in

app_name = "members"
urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("password/", own_password.own_password, name="own_password"),
    path("set-up/first/<str:code>/", first_start.first_start, name="first_start"),
    path("set-up/cooperative/", cooperative.cooperative, name="cooperative"),
    path("set-up/people/", register.people, name="people"),
    path("set-up/people/add/", register.add_person, name="add_person"),
    path("set-up/people/<uuid:uid>/", register.person, name="person"),
    path("set-up/people/<uuid:uid>/password/", register.new_password, name="new_password"),
]
