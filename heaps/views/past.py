"""Past forecasts against what came."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from heaps.forecast_words import bags_words, ready_words
from heaps.lessons import Past, past_forecasts
from members.access import role_required

SHOWN = 100  # the latest: some years of a large cooperative


@require_safe
@role_required("member")
def past(request: HttpRequest) -> HttpResponse:
    """Every heap that came to an end as bags, the bad forecasts too."""
    found = past_forecasts()
    dated = [one for one in found if one.month_held is not None]
    context = {
        "rows": [(one, *_said(one)) for one in found[:SHOWN]],
        "shown": SHOWN,
        "heaps": len(found),
        "bags_held": sum(one.bags_held for one in found),
        "dated": len(dated),
        "months_held": sum(bool(one.month_held) for one in dated),
    }
    return render(request, "heaps/past.html", context)


def _said(one: Past) -> tuple[str, str]:
    return bags_words(one.foretold_bags, one.bag_litres), ready_words(one.foretold_ready, one.said_on)
