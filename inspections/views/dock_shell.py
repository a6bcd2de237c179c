"""The page of the dock, its manifest, and the worker that keeps it for when there is no signal."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET

from fleet.access import member
from fleet.models import Base, Boat

from ..dock import shell
from .looks import WRITERS


@ensure_csrf_cookie
@member(*WRITERS)
@require_GET
def dock(request: HttpRequest) -> HttpResponse:
    """Show the page in which the form runs; what it is about comes with the kit.

    Until it runs, or where scripts are off, boats or bases lead to the form that needs no script.
    """
    standing = Boat.objects.of(request.fleet).standing(request.fleet.today())
    known = Base.objects.of(request.fleet).filter(boats__in=standing).distinct()
    bases = list(known.order_by("name"))
    asked = request.GET.get("base", "")
    base = next((each for each in bases if asked == str(each.pk) or len(bases) == 1), None)
    context = {"bases": bases, "base": base, "boats": standing.filter(base=base).order_by("name")}
    response = render(request, "inspections/dock.html", context)
    response["Cache-Control"] = "private, no-cache"
    return response


@member(*WRITERS)
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    script = shell.worker_script(request.fleet)
    return HttpResponse(
        script, content_type="text/javascript; charset=utf-8", headers={"Cache-Control": "no-cache"}
    )


@member(*WRITERS)
@require_GET
def manifest(request: HttpRequest) -> JsonResponse:
    return JsonResponse(shell.manifest(request.fleet), content_type="application/manifest+json")
