"""One heap's own page."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.board import story_of
from heaps.board.ahead import ahead_of
from heaps.board.heap_add import add_to
from heaps.board.hot import hot_heap_in, three_weeks
from heaps.collection import expected_of
from heaps.leaf_bins import leaf_bin
from heaps.models import Bay, known_materials
from heaps.usual import usual_bag_litres
from heaps.whereabouts import bean_tests_of
from members.access import role_required


@require_safe
@role_required("member")
def heap(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """What lies in a bay, where it came from, and why each number is what it is. No names stand here."""
    bay = get_object_or_404(Bay.objects.select_related("site"), uid=uid)
    now = timezone.now()
    story = story_of(bay, now)
    materials = known_materials()
    hot = hot_heap_in(bay, story.state, now)
    context = {
        "bay": bay,
        "time": now,
        "story": story,
        "now": story.now,
        "hot": hot,
        "checklist": three_weeks(hot.built_on, bay.site.day_of(now)) if hot else None,
        "add": add_to(bay, story.state, story.ahead, now, materials),
        "ahead": ahead_of(bay, story.state.batch, story.ahead, story.entries, bay.site.day_of(now)),
        "expected": expected_of(bay, story.state, usual_bag_litres(), now, materials),
        "bean_tests": bean_tests_of(bay),
        "again": story.now.again,
        "leaves": leaf_bin(bay, story.state.batch, now),
    }
    return render(request, "heaps/heap.html", context)
