"""A due thing set aside: not now, or done elsewhere; accepted, declined, taken back."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from fleet.access import member

from ..due import Due, due
from ..models import Reminder, SetAside
from ..reminding import evidence as files
from ..reminding import set_aside
from ..reminding.forms import SetAsideForm
from .looks import WRITERS

DONE = {"accept": "Accepted", "decline": "Declined", "undo": "Taken back"}


@member()
def set_aside_page(request: HttpRequest) -> HttpResponse:
    """Ask why one due thing of one boat is to be left alone for a while."""
    if "boat" not in request.GET:
        return redirect("reminders", fleet=request.fleet.slug)
    thing = thing_or_404(request)
    how = {"kind": thing.kind, "today": request.fleet.today()}
    form = SetAsideForm(request.POST or None, request.FILES or None, **how)
    if request.method == "POST" and form.is_valid():
        if form.cleaned_data["how"] == "snooze" and request.role not in WRITERS:
            raise PermissionDenied("A manager or bosun decides that something can wait.")
        try:
            kept(request, thing, form)
            return redirect("reminders", fleet=request.fleet.slug)
        except ValidationError as fault:
            form.add_error("evidence", fault)
    context = {
        "thing": thing,
        "boat": thing.boat,
        "what": Reminder.Kind(thing.kind).label,
        "never": thing.kind in set_aside.NEVER,
        "form": form,
    }
    return render(request, "inspections/set_aside.html", context)


def thing_or_404(request: HttpRequest) -> Due:
    """Return the due thing that the address names by boat, kind and what it is about."""
    asked = tuple(request.GET.get(name, "") for name in ("boat", "kind", "about"))
    for each in due(request.fleet, request.fleet.today()):
        if (str(each.boat.pk), each.kind, each.about) == asked:
            return each
    raise Http404("Nothing of that kind is due on such a boat.")


def kept(request: HttpRequest, thing: Due, form: SetAsideForm) -> None:
    said, now = form.cleaned_data, timezone.now()
    what = {"kind": thing.kind, "about": thing.about, "due_on": thing.on}
    who = {"user": request.user, "now": now}
    if said["how"] == "snooze":
        set_aside.snooze(thing.boat, what, said["until"], said["reason"], **who)
        messages.success(request, f"Nobody is reminded of it before {said['until']:%d %b %Y}.")
        return
    file = said.get("evidence")
    set_aside.offer(thing.boat, what, said["done_on"], said["reason"], file, **who)
    messages.success(request, "Kept. Reminders go on until the bosun or a manager accepts it.")


@member(*WRITERS)
@require_POST
def decide(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(SetAside.objects.of(request.fleet).select_related("boat__fleet"), pk=pk)
    step = request.POST.get("step", "")
    if step not in DONE:
        raise Http404("No such step.")
    words = request.POST.get("words", "").strip()
    if set_aside.decide(row, step, words, request.user, timezone.now()):
        messages.success(request, f"{DONE[step]}. The next round of reminders goes by it.")
    else:
        messages.error(request, "Somebody decided about it before you.")
    return redirect("reminders", fleet=request.fleet.slug)


@member()
def evidence(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the paper or photo, as a download."""
    row = get_object_or_404(SetAside.objects.of(request.fleet).exclude(evidence=""), pk=pk)
    path = files.path_of(request.fleet.pk, row.evidence)
    if not path.is_file():
        raise Http404("The file is not on this machine.")
    answer = FileResponse(path.open("rb"), as_attachment=True, filename=row.evidence_name)
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
