"""What is shown once of a ticket: a code to scan, the link, the words, and how long they are good."""

import segno
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from members.tickets import Told

QUIET_ZONE = 4  # modules (ISO/IEC 18004)


def shown_once(request: HttpRequest, told: Told, title: str) -> HttpResponse:
    """The page with a ticket's secrets."""
    link = request.build_absolute_uri(path_of(told))
    code = segno.make(link, error="m", micro=False)
    context = {
        "title": title,
        "ticket": told.ticket,
        "link": link,
        "host": request.get_host(),
        "code": code.svg_data_uri(border=QUIET_ZONE, scale=8, light="#fff"),  # the policy lets pictures be data
        "words": told.words,
        "words_page": request.build_absolute_uri(reverse("members:by_words")),
        "back": request.path,  # asked for with GET, it is the page before: nothing is made anew
        "minutes": round((told.ticket.ends_at - told.ticket.made_at).total_seconds() / 60),
    }
    return render(request, "members/shown_once.html", context)


def path_of(told: Told) -> str:
    """Where a ticket's link leads."""
    return reverse("members:join" if told.ticket.member is None else "members:come_in", args=[told.link])
