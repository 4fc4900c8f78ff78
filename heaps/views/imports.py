"""Bringing in an old notebook: choose a file, see what was understood, bring it in, take it back."""

import uuid
from collections.abc import Callable, Iterator, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, QueryDict, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from heaps import wire
from heaps.funder_report import guarded
from heaps.import_forms import COLUMNS, ColumnsForm, ImportForm
from heaps.importing import Found, Unreadable, reading, runs, shelf
from heaps.models import Bay, ImportRun, Site, known_materials
from heaps.tray.said import Names, said
from heaps.views.sheet import sheet
from heaps.wording import refused
from members.access import proof_required, role_required, the_one_signed_in
from members.numerals import rounded

ROLES = ("coordinator", "administrator")
SHOWN, A_PAGE = 5, 50
read_or_send = require_http_methods(["GET", "HEAD", "POST"])


@read_or_send
@role_required(*ROLES)
def imports(request: HttpRequest) -> HttpResponse:
    """Every file that was brought in, and a form for the next."""
    form = ImportForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and (run := _begun(request, form)):
        return redirect("heaps:import", run.uid)
    found = ImportRun.objects.select_related("person", "site", "bay")[:100]
    return render(request, "set_up/imports.html", {"form": form, "runs": found})


def _begun(request: HttpRequest, form: ImportForm) -> ImportRun | None:
    """The run of the file that was sent, or nothing: then the form says why."""
    if "heaps.too_large" in request.META:
        form.errors.pop("file", None)
        form.add_error(None, _("The file is larger than 20 MB. Cut it in two, and bring in one at a time."))
    if not form.is_valid():
        return None
    upload, said_of = form.cleaned_data["file"], form.cleaned_data
    run = ImportRun(
        file_name=upload.name[-100:],
        of=said_of["of"],
        site=said_of["site"],
        bay=said_of["bay"] if said_of["of"] == ImportRun.Of.LOGGER else None,
        person=the_one_signed_in(request),
        made_at=timezone.now(),
    )
    try:
        return runs.begin(upload, run)
    except Unreadable as wrong:
        form.refuse(wrong)
        return None


@read_or_send
@role_required(*ROLES)
def one(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """One file: what was understood of it, and how far it is."""
    run = get_object_or_404(ImportRun.objects.select_related("person", "site", "bay"), uid=uid)
    if request.method != "POST":
        return _page(request, run)
    asked = DO.get(request.POST.get("says", ""))
    if asked is None:
        raise Http404
    try:
        return asked(request, run)
    except runs.FileGone:
        messages.error(request, _("The file is no longer here. Choose it once more: what went in is left alone."))
    except runs.Busy as busy:
        told = _("First let %(file)s come to its end, or stop it: two at once would mix.") % {"file": busy.run}
        messages.error(request, told)
    return redirect("heaps:import", run.uid)


def _columns(request: HttpRequest, run: ImportRun) -> HttpResponse:
    if run.state not in runs.BEFORE_IT or not shelf.is_here(run):
        raise runs.FileGone
    form = _columns_form(run, request.POST)
    if not form.is_valid():
        return _page(request, run, form)
    runs.match(run, form.columns())
    return redirect("heaps:import", run.uid)


def _columns_form(run: ImportRun, said: QueryDict | None = None) -> ColumnsForm:
    return ColumnsForm(reading.table_of(run), run.columns, said)


def _step(request: HttpRequest, run: ImportRun) -> HttpResponse:
    runs.step(run, the_one_signed_in(request))
    return redirect("heaps:import", run.uid)


def _ask(request: HttpRequest, run: ImportRun) -> HttpResponse:
    runs.ask(run, request.POST["says"])
    return redirect("heaps:import", run.uid)


def _forget(request: HttpRequest, run: ImportRun) -> HttpResponse:
    if not runs.forget(run):
        return redirect("heaps:import", run.uid)
    messages.success(request, _("The file is thrown away. Nothing of it was brought in."))
    return redirect("heaps:imports")


DO: dict[str, Callable[[HttpRequest, ImportRun], HttpResponse]] = {
    "columns": _columns,
    "step": _step,
    "forget": _forget,
    **dict.fromkeys(runs.ASKED, _ask),
}


@require_safe
@role_required(*ROLES)
@proof_required(offered_on="heaps:import")
def left_out(request: HttpRequest, uid: uuid.UUID) -> StreamingHttpResponse:
    """The lines that stay out, as a table."""
    run = get_object_or_404(ImportRun, uid=uid)
    return sheet(_left_out(run), "left-out.csv")


def _left_out(run: ImportRun) -> Iterator[tuple[str, ...]]:
    yield (_("line"), _("column"), _("what to do"))
    start = 0
    named = _columns_named(run)
    while rows := reading.bad_lines(run, start, 500):
        for one in rows:
            yield str(one.line), guarded(named.get(one.column, one.column)), guarded(refused(one.reason))
        start += len(rows)


def _page(request: HttpRequest, run: ImportRun, form: ColumnsForm | None = None) -> HttpResponse:
    here = shelf.is_here(run)
    context = {"run": run, "here": here, "goes_on": run.state in runs.ON_ITS_WAY, **_progress(run, here)}
    if run.state in runs.BEFORE_IT and here:
        head = reading.table_of(run).head
        context["form"] = form or (_columns_form(run) if run.of == ImportRun.Of.NOTEBOOK else None)
        context["columns"] = list(zip(head, map(_meant, run.columns), strict=False))
        context["first"] = [_in_words(line) for line in reading.first_lines(run, SHOWN)]
        context["same"] = runs.same_file(run)
    context["wrong"] = Paginator(_BadLines(run), A_PAGE).get_page(request.GET.get("page", 1))
    return render(request, "set_up/import.html", context)


class _BadLines(Sequence[dict[str, Any]]):
    """The bad lines of a run as a list that fetches what is looked at, and says it in the reader's language."""

    def __init__(self, run: ImportRun) -> None:
        self.run = run

    def __len__(self) -> int:
        return reading.bad_reasons(self.run)

    def __getitem__(self, part: Any) -> Any:
        named = _columns_named(self.run)
        found = reading.bad_lines(self.run, part.start, part.stop - part.start)
        return [
            {"line": one.line, "column": named.get(one.column, one.column), "reason": refused(one.reason)}
            for one in found
        ]


def _columns_named(run: ImportRun) -> dict[str, str]:
    """What each column is called: as in the file, or in words where the file does not have it."""
    words = {name: str(says) for name, says in COLUMNS.items()} if run.of == ImportRun.Of.NOTEBOOK else {}
    head = reading.table_of(run).head if shelf.path_of_lines(run).exists() else ()
    return words | {meant: name for meant, name in zip(run.columns, head, strict=False) if meant and name}


def _progress(run: ImportRun, here: bool) -> dict[str, Any]:
    """How far it is: a number, of how many, in words."""
    if run.state == ImportRun.State.READING:
        done, all_of = reading.progress(run) if here else (0, 0)
        says = _("%(done)s of %(all)s lines read")
    elif run.state == ImportRun.State.BACK:
        done, all_of, says = run.taken_back, run.went_in, _("%(done)s of %(all)s rows taken back")
    else:
        done, all_of, says = run.place, run.lines, _("%(done)s of %(all)s rows")
    return {"done": done, "all_of": all_of, "progress": says % {"done": rounded(done), "all": rounded(all_of)}}


def _meant(column: str | None) -> str:
    if column is None:
        return _("not known yet")
    return str(COLUMNS.get(column, column or _("left out")))


def _in_words(line: Found) -> dict[str, Any]:
    """A line as it was understood: when, where, what, by whom."""
    materials = known_materials()
    wired = wire.read(line.raw, materials)
    site = Site.objects.filter(uid=wired.site).first()
    zone = ZoneInfo(site.time_zone) if site else ZoneInfo("UTC")
    names = {str(bay): name for bay, name in Bay.objects.filter(site=site).values_list("uid", "name")}
    return {
        "line": line.line,
        "at": date_format(wired.occurred_at.astimezone(zone), "j F Y, H:i"),
        "site": site,
        "what": said(wired.what, wired.bay, Names(names, materials)),
        "person": line.person,
        "words": wired.words,
    }
