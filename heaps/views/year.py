"""The year's report, as a page and as a table to take away."""

from collections.abc import Iterable
from datetime import date
from itertools import groupby

from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps import donors, funder_report, own_values, stewards
from heaps.funder_report import Row
from heaps.views.sheet import sheet
from heaps.weighings import next_to_weigh, weighings
from heaps.years import Year, year_of, year_with
from members.access import proof_required, role_required


@require_safe
@role_required("treasurer", *stewards.ROLES)
def year(request: HttpRequest, year: int) -> HttpResponse:
    """The year's sums and months."""
    this = _year_or_404(year)
    found = funder_report.rows(this)
    context = {
        "year": this,
        "number": year,
        "short": funder_report.in_short(found),
        "totals": funder_report.totals(found),
        "sums": funder_report.sums(found),
        "people": [row for row in found if row.what == "people" and row.month is None],
        "months": _by_month(row for row in found if row.month),
        "moved": own_values.that_moved(this),
        "to_weigh": next_to_weigh(this.starts, this.ends, weighings()),
        "before": year - 1,
        "after": year + 1 if year < year_with(timezone.now().date()) else None,
        "takes_away": request.user.is_authenticated
        and (request.user.has_role("treasurer") or request.user.has_role("administrator")),
    }
    return render(request, "heaps/year.html", context)


@require_safe
@role_required("treasurer", "administrator")
@proof_required(offered_on="heaps:year")
def year_csv(request: HttpRequest, year: int) -> StreamingHttpResponse:
    """The year as a table."""
    this = _year_or_404(year)
    lines = list(funder_report.lines(this))  # before the answer begins: a fault is then said, not half a table
    return sheet(lines, f"came-and-went-{this.label.replace('/', '-')}.csv")


@require_safe
@role_required("treasurer", *stewards.ROLES)
def this_year(request: HttpRequest) -> HttpResponse:
    """To the cooperative's own year that runs now."""
    return redirect("heaps:year", year_with(timezone.now().date()))


@require_safe
@role_required("treasurer", *stewards.ROLES)
def who_gave(request: HttpRequest, year: int) -> HttpResponse:
    """What came in within the year by kind of giver. Nobody is named."""
    this = _year_or_404(year)
    given = donors.by_kind(this.starts, this.ends)
    context = {"year": this, "number": year, "given": given, "whole": donors.together(given)}
    return render(request, "heaps/who_gave.html", context)


def _year_or_404(year: int) -> Year:
    this = year_of(year)
    if this is None:
        raise Http404
    return this


def _by_month(found: Iterable[Row]) -> list[tuple[date | None, list[Row]]]:
    return [(month, list(rows)) for month, rows in groupby(found, key=lambda row: row.month)]
