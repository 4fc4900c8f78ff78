"""Addresses of people: signing in and out, and the cooperative's register."""

from django.urls import path

from members import views

app_name = "members"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("password/", views.own_password, name="own_password"),
    path("set-up/first/<str:code>/", views.first_start, name="first_start"),
    path("set-up/cooperative/", views.cooperative, name="cooperative"),
    path("set-up/people/", views.people, name="people"),
    path("set-up/people/add/", views.add_person, name="add_person"),
    path("set-up/people/<uuid:uid>/", views.person, name="person"),
    path("set-up/people/<uuid:uid>/password/", views.new_password, name="new_password"),
]
