"""A database that cannot take anything just now: busy, full, read only or out of reach.

That is no fault of the request, and goes by itself or when somebody makes room. So whoever asked is told to come back,
and what was typed comes along.
"""

import errno
from typing import Any

from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader
from django.utils.translation import gettext as _

AGAIN_AFTER_S = 30
#: SQLITE_BUSY, LOCKED, READONLY, IOERR, FULL, CANTOPEN, PROTOCOL (SQLite, "Result and Error Codes").
SQLITE_RESTS = {5, 6, 8, 10, 13, 14, 15}
#: Classes and codes of SQLSTATE (PostgreSQL, "Error Codes"): no connection, rolled back for others, no room or memory,
#: an operator at work, a fault of the system; a lock that did not come; a database that may be read only.
POSTGRESQL_RESTS = ("08", "40", "53", "57", "58", "55P03", "25006")
#: A disk that is full, over its quota, or may be read only.
SYSTEM_RESTS = {errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EFBIG}
FORM = "application/x-www-form-urlencoded"


def rests(fault: BaseException | None) -> bool:
    """Whether this fault says so."""
    if isinstance(fault, OSError):
        return fault.errno in SYSTEM_RESTS
    cause: Any = fault.__cause__ if isinstance(fault, DatabaseError) else None
    if cause is None:
        return False
    if hasattr(cause, "sqlite_errorcode"):
        return cause.sqlite_errorcode & 0xFF in SQLITE_RESTS
    if state := getattr(cause, "sqlstate", None):
        return str(state).startswith(POSTGRESQL_RESTS)
    return type(cause).__name__ == "OperationalError"  # psycopg's, without a code: there is no connection


def come_back(request: HttpRequest) -> HttpResponse:
    """What whoever asked is told. It asks neither the database nor the session, and the next request connects anew."""
    connection.close()
    if request.path == "/sync/":
        answer: HttpResponse = JsonResponse(
            {"reason": _("The cooperative's computer cannot write just now.")}, status=503
        )
    else:
        context = {"path": request.get_full_path(), "typed": _typed(request)}
        answer = HttpResponse(loader.get_template("503.html").render(context), status=503)
    answer["Retry-After"] = str(AGAIN_AFTER_S)
    return answer


def _typed(request: HttpRequest) -> list[tuple[str, str]]:
    """What a form held, to be sent again as it is. Nothing where it held a password or a file: they are given anew."""
    if request.META["REQUEST_METHOD"] != "POST" or request.content_type != FORM:
        return []
    if any("password" in name for name in request.POST):
        return []
    return [(name, value) for name, values in request.POST.lists() for value in values]
