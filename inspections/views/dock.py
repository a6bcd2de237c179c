"""What a phone on the dock asks for and hands in, as JSON."""

import json
from collections.abc import Callable
from functools import wraps

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_GET, require_POST

from fleet.access import member
from fleet.models import Base

from ..dock.draft import Fault
from ..dock.kit_reads import fingerprint, kit_of
from ..dock.sending import FAULTY, receive
from .looks import WRITERS

MOST_BYTES = 1024 * 1024


def for_scripts(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Tell a script that nobody is signed in, where a page would be led to the sign-in."""

    @wraps(view)
    def opened(request: HttpRequest, **kwargs) -> HttpResponse:
        if not request.user.is_authenticated:
            words = "Sign in again. What is on this phone stays on it until then."
            return JsonResponse({"signed_out": words, "url": reverse("account_login")}, status=403)
        return view(request, **kwargs)

    return opened


@for_scripts
@member(*WRITERS)
@require_GET
def kit(request: HttpRequest) -> HttpResponse:
    """Hand out the boats of a base; nothing but "as before" to a phone that has them so."""
    base, chosen = None, request.GET.get("base", "")
    if chosen:
        known = Base.objects.of(request.fleet)
        base = get_object_or_404(known, pk=chosen if chosen.isdecimal() else 0)
    get_token(request)  # What is sent later needs the cookie, also from a page kept offline.
    made = kit_of(request.fleet, base, request.user, timezone.now())
    etag = f'"{fingerprint(made)}"'
    response = JsonResponse(made)
    response["ETag"] = etag
    response["Cache-Control"] = "private, no-cache"
    return get_conditional_response(request, etag=etag, response=response)


@for_scripts
@member(*WRITERS)
@require_POST
def send(request: HttpRequest) -> HttpResponse:
    """Take in one inspection written on a phone; sent again, it is answered the same."""
    if int(request.META.get("CONTENT_LENGTH") or 0) > MOST_BYTES:
        return faulty("An inspection takes at most 1 MB, photos apart. This is more.")
    try:
        payload = storable(request.body)
    except (ValueError, RecursionError):
        return faulty("This is not an inspection as the phone writes it: send it anew.")
    reply = receive(request.fleet, request.user, payload, timezone.now())
    return JsonResponse(reply.body, status=reply.status)


def storable(body: bytes) -> object:
    """Return JSON that both databases can keep: no NaN, no halves of letters, no letter zero."""
    payload = json.loads(body)
    text = json.dumps(payload, ensure_ascii=False, allow_nan=False)
    if b"\\u0000" in text.encode():
        raise ValueError("A letter zero cannot be kept.")
    return payload


def faulty(sentence: str) -> HttpResponse:
    return JsonResponse({"faults": [vars(Fault("draft", sentence))]}, status=FAULTY)
