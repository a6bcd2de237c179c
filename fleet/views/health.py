"""Whether this installation answers: for whatever watches over it."""

import logging

from django.db import Error, connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache

log = logging.getLogger(__name__)


@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """Answer 200 when the database does, else 503; it tells nobody anything else."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        log.exception("The database does not answer.")
        return HttpResponse("The database does not answer.\n", "text/plain", status=503)
    return HttpResponse("ok\n", "text/plain")
