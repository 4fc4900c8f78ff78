"""Who looks after which site: coordinators and administrators all of them, others the ones given to them."""

import json
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from django.core.exceptions import PermissionDenied
from django.db.models import Model, Q, QuerySet, prefetch_related_objects
from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils.functional import SimpleLazyObject

from heaps.models import Parked, Site
from members.access import FURTHER_ROLES, ROLES_STAND_IN, role_required, signed_in
from members.models import Member

P = ParamSpec("P")
M = TypeVar("M", bound=Model)
ROLES = ("coordinator", "administrator", "steward")


@dataclass(frozen=True)
class Care:
    """The sites that somebody looks after, by their row's number."""

    everywhere: bool = False
    sites: frozenset[int] = frozenset()

    def __bool__(self) -> bool:
        return self.everywhere or bool(self.sites)

    def __contains__(self, site_id: object) -> bool:
        return self.everywhere or site_id in self.sites

    def of(self, rows: QuerySet[M], site: str = "site") -> QuerySet[M]:
        """Those of `rows` whose site is looked after; `site` is the name of their column."""
        return rows if self.everywhere else rows.filter(Q(**{f"{site}__in": self.sites}))


EVERYWHERE = Care(everywhere=True)


def care_of(person: Member | None) -> Care:
    """What somebody looks after. The database is asked once for each `person`, and not for coordinators of all."""
    if person is None or not person.is_active:
        return Care()
    if person.is_coordinator or person.is_administrator:
        return EVERYWHERE
    prefetch_related_objects([person], "stewardships")
    return Care(sites=frozenset(one.site_id for one in person.stewardships.all()))


def parked_in(care: Care) -> QuerySet[Parked]:
    """Entries that wait to be placed at the sites of `care`.

    One for a site that is not known here waits for the coordinators of all.
    """
    waiting = Parked.objects.filter(placed_at=None, left_out_at=None)
    if care.everywhere:
        return waiting
    names = {str(uid) for uid in Site.objects.filter(pk__in=care.sites).values_list("uid", flat=True)}
    here = [pk for pk, raw in waiting.values_list("pk", "raw") if json.loads(raw).get("site") in names]
    return waiting.filter(pk__in=here)


def is_steward(person: Member) -> bool:
    """Whether somebody is coordinator of one site or of some, not of all."""
    care = care_of(person)
    return bool(care) and not care.everywhere


def add_role() -> None:
    """Make the role known to the pages about people, which know nothing of sites."""
    FURTHER_ROLES["steward"] = is_steward
    ROLES_STAND_IN.append("stewardships")


#: Lets in whoever looks after a site. What is shown of other sites is the page's own matter.
coordinators = role_required(*ROLES)


def coordinates(
    kind: type[M], site_of: Callable[[M], Site]
) -> Callable[[Callable[Concatenate[HttpRequest, M, P], HttpResponseBase]], Callable[..., HttpResponseBase]]:
    """Hand a page the `kind` that its address names, if the person looks after its site.

    One that is not there is answered with 404, one at a site of other coordinators with 403.
    """

    def decorate(view: Callable[Concatenate[HttpRequest, M, P], HttpResponseBase]) -> Callable[..., HttpResponseBase]:
        @coordinators
        @wraps(view)
        def guarded(request: HttpRequest, /, uid: uuid.UUID, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            one = get_object_or_404(kind, uid=uid)
            if site_of(one).pk not in care_of(signed_in(request)):
                raise PermissionDenied
            return view(request, one, *args, **kwargs)

        return guarded

    return decorate


def care_in_templates(request: HttpRequest) -> dict[str, Any]:
    """`care` in every template. A page that does not ask for it asks the database nothing."""
    return {"care": SimpleLazyObject(lambda: care_of(signed_in(request) if hasattr(request, "user") else None))}
