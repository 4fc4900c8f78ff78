"""A label to print and stick on bags: one for each batch that was taken out."""

import uuid

import segno
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from heaps.bags import label_of
from heaps.ledger.kinds import Harvest
from heaps.models import Entry
from members.access import role_required

QUIET_ZONE = 4  # modules (ISO/IEC 18004)


@require_safe
@role_required("member")
def label(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """What went in, when, and what to mind. Its code holds the address of the site's page for everybody."""
    rows = Entry.objects.filter(kind=Harvest.kind).select_related("site", "bay")
    found = label_of(get_object_or_404(rows, uid=uid))
    if found is None:
        raise Http404
    address = request.build_absolute_uri(reverse("heaps:public_site", args=[found.site.uid]))
    code = segno.make(address, error="m", micro=False).svg_data_uri(border=QUIET_ZONE, scale=4, light="#fff")
    return render(request, "heaps/label.html", {"label": found, "address": address, "code": code})
