"""All addresses."""

from django.urls import include, path

from cooperative import leaving_views
from cooperative.backup_views import backups
from cooperative.offline import manifest, service_worker

urlpatterns = [
    path("service-worker.js", service_worker, name="service_worker"),
    path("manifest.webmanifest", manifest, name="manifest"),
    path("me/everything.json", leaving_views.everything, name="everything"),
    path("me/leave/", leaving_views.leave, name="leave"),
    path("set-up/people/<uuid:uid>/erase/", leaving_views.erase, name="erase"),
    path("set-up/backups/", backups, name="backups"),
    path("", include("members.urls")),
    path("", include("heaps.urls")),
]
handler403 = "cooperative.views.forbidden"
handler404 = "cooperative.views.not_found"
handler500 = "cooperative.views.broken"
