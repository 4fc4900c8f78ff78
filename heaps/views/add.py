"""The lines about what to add that the board lacks."""

from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from heaps.board.heap_add import lines_lacking
from members.access import no_store, role_required


@require_safe
@no_store
@role_required("member")
def what_to_add(request: HttpRequest) -> JsonResponse:
    """By bay, a line of plain words. The board itself reckons nothing."""
    return JsonResponse(lines_lacking(timezone.now()))
