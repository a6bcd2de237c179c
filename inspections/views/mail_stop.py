"""No more mail, without signing in: opened by a person, or posted to by a mail reader."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from ..reminding import stopping


@csrf_exempt  # The signed link is what allows it; a mail reader has no cookies (RFC 8058, 3.1).
@require_http_methods(["GET", "HEAD", "POST"])
def mail_stop(request: HttpRequest, token: str) -> HttpResponse:
    """Show what the link does; a POST does it. GET writes nothing: mail scanners open links."""
    asked = stopping.read(token)
    if asked is None:
        raise Http404("No such link.")
    refused = False
    if request.method == "POST":
        if request.POST.get("again"):
            stopping.begin_again(asked.fleet, asked.email)
        else:
            refused = not stopping.stop(asked, timezone.now())
    context = {"asked": asked, "in_charge": asked.in_charge, "stopped": asked.stopped}
    return render(request, "inspections/mail_stop.html", context, status=403 if refused else 200)
