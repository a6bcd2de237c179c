"""Photos taken in from a phone, and shown to the members of their fleet."""

import datetime as dt
import uuid

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_POST, require_safe

from fleet.access import member

from ..dock.draft import Fault
from ..dock.sending import FAULTY
from ..models import Photo
from ..photos import files, keeping
from ..photos.redraw import MOST_BYTES, NoPhoto
from .dock import for_scripts
from .looks import WRITERS


@for_scripts
@member(*WRITERS)
@require_POST
def take_in(request: HttpRequest) -> HttpResponse:
    """Take in one photo under the id it got on the phone; the same id again is the same photo."""
    try:
        photo_id = uuid.UUID(request.POST.get("id", ""))
    except ValueError:
        return refused("id", "It carries no number of its own: take the photo again.")
    sent = request.FILES.get("file")
    if sent is None:
        return refused("file", "No photo came along: send it again.")
    day = taken_on(request)
    try:
        content = sent.read(MOST_BYTES + 1)
        photo, new = keeping.keep(request.fleet, request.user, photo_id, content, day)
    except NoPhoto as why:
        return refused("file", str(why))
    body = {
        "id": str(photo.pk),
        "url": reverse("photo", args=[request.fleet.slug, photo.pk]),
        "width": photo.width,
        "height": photo.height,
    }
    return JsonResponse(body, status=201 if new else 200)


def taken_on(request: HttpRequest) -> dt.date:
    """Return the day the phone says; today when it says none, or one that has not been yet."""
    today = request.fleet.today()
    try:
        return min(dt.date.fromisoformat(request.POST.get("taken_on", "")), today)
    except ValueError:
        return today


def refused(where: str, sentence: str) -> HttpResponse:
    return JsonResponse({"faults": [vars(Fault(where, sentence))]}, status=FAULTY)


@member()
@require_safe
def photo(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    return shown(request, pk, files.LARGE)


@member()
@require_safe
def photo_small(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    return shown(request, pk, files.SMALL)


def shown(request: HttpRequest, pk: uuid.UUID, size: str) -> HttpResponse:
    """Hand out a file of this fleet. A browser keeps it and asks each time whether it still may.

    So who is no member any more is shown nothing, whatever is kept.
    """
    row = get_object_or_404(Photo.objects.of(request.fleet), pk=pk)
    path = files.path_of(request.fleet.pk, row.pk, size)
    if not path.is_file():
        raise Http404("The file of this photo is not there any more.")
    etag = f'"{row.sha256}{size}"'
    response = get_conditional_response(request, etag=etag)
    if response is None:
        response = FileResponse(path.open("rb"), content_type="image/jpeg")
        response["Content-Disposition"] = "inline"
        response["Cross-Origin-Resource-Policy"] = "same-origin"
    response["ETag"], response["Cache-Control"] = etag, "private, no-cache"
    return response
