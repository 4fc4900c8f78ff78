"""The page that says when the last proven copy was made, and a warning on others where something is wrong with them."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from cooperative.backups import shelf
from members.access import role_required
from members.models import Member

LATE = timedelta(days=2)
#: What is told of a copy, by the tables that hold it.
TOLD = {"sites": "heaps_site", "bays": "heaps_bay", "people": "members_member", "parked": "heaps_parked"}


@dataclass(frozen=True)
class Copies:
    """How it stands with copies: the last proven one, what failed since, and a warning or nothing."""

    record: shelf.Record
    trouble: str

    @property
    def held(self) -> dict[str, int]:
        """How many of each the last proven copy holds."""
        slip = self.record.proven
        return {name: slip.held.tables.get(table, 0) for name, table in TOLD.items()} if slip else {}


@require_safe
@role_required("coordinator", "administrator")
def backups(request: HttpRequest) -> HttpResponse:
    """When the last proven copy was made, how large it is, what it holds, and what went wrong."""
    return render(request, "set_up/backups.html")


def copies_in_templates(request: HttpRequest) -> dict[str, Any]:
    """Looked up only by a template that asks."""
    return {"copies": SimpleLazyObject(_copies)}


def _copies() -> Copies:
    known = shelf.record()
    return Copies(known, _trouble(known))


def _trouble(known: shelf.Record) -> str:
    if settings.MODE == "demo":  # what is invented needs no copy
        return ""
    if known.failed_at:
        return _("The last copy of the records failed.")
    since = timezone.now() - LATE
    if known.proven is None:
        old = Member.objects.filter(joined_at__lt=since).exists()
        return _("No copy of the records has been made yet.") if old else ""
    if known.proven.made_at < since:
        days = (timezone.now() - known.proven.made_at).days
        return _("The last copy of the records is %(days)s days old.") % {"days": days}
    return ""
