"""Pages that everybody of a fleet reads and some write on."""

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest

from .looks import WRITERS


def may_write(request: HttpRequest) -> bool:
    """Whether this reader writes here. Raises PermissionDenied for one who posts all the same."""
    may = request.role in WRITERS
    if request.method == "POST" and not may:
        raise PermissionDenied("Managers and bosuns put things on record here.")
    return may
