"""All addresses."""

from django.urls import include, path

urlpatterns = [
    path("", include("members.urls")),
    path("", include("heaps.urls")),
]
handler403 = "cooperative.views.forbidden"
handler404 = "cooperative.views.not_found"
handler500 = "cooperative.views.broken"
