"""One load: where it went, who gave it, and the bean tests of it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from heaps import donors as giving
from heaps.forms import BeanTestForm
from heaps.ledger.kinds import Dropoff
from heaps.models import BeanTest, Entry
from heaps.stewards import coordinates
from heaps.whereabouts import may_give, whereabouts
from members.access import signed_in
from members.models import Cooperative

read_or_send = require_http_methods(["GET", "HEAD", "POST"])
at_load = coordinates(Entry, lambda row: row.site)


@require_safe
@at_load
def load(request: HttpRequest, row: Entry) -> HttpResponse:
    """Where a load went, who fetched bags since, and a message to send to them."""
    _must_be_load(row)
    context = {
        "row": row,
        "found": whereabouts(row, timezone.now()),
        "giver": giving.name_of(row.donor) if row.donor else "",
        "givers": [(str(one.uid), giving.name_of(one), one == row.donor) for one in may_give(row.site)],
        "tests": row.bean_tests.all(),
        "cooperative": Cooperative.objects.first(),
        "today": row.site.day_of(timezone.now()),
    }
    return render(request, "heaps/load.html", context)


@require_POST
@at_load
def giver(request: HttpRequest, row: Entry) -> HttpResponse:
    """Say who gave a load. It is a remark beside the entry, like a name: no amount and no chain knows it."""
    _must_be_load(row)
    chosen = request.POST.get("giver", "")
    known = {str(one.uid): one for one in may_give(row.site)}
    if chosen and chosen not in known:
        messages.error(request, _("This one does not give at this site. Choose one from the list."))
    else:
        Entry.objects.filter(pk=row.pk).update(donor=known.get(chosen))
        messages.success(request, _("Kept: who gave it."))
    return redirect("heaps:load", uid=row.uid)


@read_or_send
@at_load
def add_bean_test(request: HttpRequest, row: Entry) -> HttpResponse:
    """Beans are sown in a mix with this load."""
    _must_be_load(row)
    return _bean_test_page(request, BeanTest(entry=row))


@read_or_send
@at_load
def bean_test(request: HttpRequest, row: Entry, number: int) -> HttpResponse:
    """How the beans grew."""
    return _bean_test_page(request, get_object_or_404(BeanTest, pk=number, entry=row))


def _bean_test_page(request: HttpRequest, test: BeanTest) -> HttpResponse:
    today = test.entry.site.day_of(timezone.now())
    form = BeanTestForm(today, request.POST or None, instance=test, initial={"sown_on": test.sown_on or today})
    if request.method == "POST" and form.is_valid():
        form.instance.person = signed_in(request)  # whose words they are now
        form.save()
        messages.success(request, _("Kept: the bean test."))
        return redirect("heaps:load", uid=test.entry.uid)
    return render(request, "heaps/bean_test.html", {"form": form, "row": test.entry})


def _must_be_load(row: Entry) -> None:
    if row.kind != Dropoff.kind:
        raise Http404
