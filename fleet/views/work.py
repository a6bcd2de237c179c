"""Long work: what is waiting and under way, what came of it, and how to stop it."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django_tables2 import RequestConfig

from ..access import member
from ..filters import WorkFilter
from ..models import Membership, WorkRow
from ..tables import WorkTable
from ..work import asking, files, pruning

MAY_CANCEL = (Membership.Role.MANAGER, Membership.Role.BOSUN)


@member()
def works(request: HttpRequest) -> HttpResponse:
    """List the fleet's long work, newest first."""
    rows = WorkRow.objects.of(request.fleet).select_related("fleet", "asked_by")
    narrowed = WorkFilter(request.GET, queryset=rows)
    table = WorkTable(narrowed.qs)
    if narrowed.data and any(narrowed.data.get(name) for name in narrowed.filters):
        table.empty_text = "No work of that kind and state is on record."
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    context = {
        "table": table,
        "filter": narrowed,
        "unfinished": WorkRow.objects.of(request.fleet).unfinished().count(),
        "kept_days": pruning.KEPT.days,
        "failed_kept_days": pruning.FAILED_KEPT.days,
    }
    return render(request, "fleet/works.html", context)


@member()
def work(request: HttpRequest, pk: int) -> HttpResponse:
    """Show how far one piece of work is; on POST cancel it. ``?as=json``: for its script."""
    rows = WorkRow.objects.of(request.fleet).select_related("asked_by", "fleet")
    row = get_object_or_404(rows, pk=pk)
    may_cancel = request.role in MAY_CANCEL
    if request.method == "POST":
        if not may_cancel:
            raise PermissionDenied("Managers and bosuns cancel work.")
        if not asking.cancel(row, request.user):
            messages.info(request, "It was over before it could be cancelled.")
        return redirect("work", fleet=request.fleet.slug, pk=pk)
    if request.GET.get("as") == "json":
        return JsonResponse(progress(row))
    context = {
        "work": row,
        "may_cancel": may_cancel and not row.cancel_asked,
        "kept_until": files.kept_until(row),
        "made_a_file": row.kind == WorkRow.Kind.EXPORT and row.state == WorkRow.State.DONE,
    }
    return render(request, "fleet/work.html", context)


@member()
def work_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand over the file that a piece of work made; its page says so when it is not kept."""
    row = get_object_or_404(WorkRow.objects.of(request.fleet), pk=pk)
    try:
        content = files.path_of(row).open("rb") if row.made else None
    except FileNotFoundError:  # Swept since.
        content = None
    if content is None:
        return redirect("work", fleet=request.fleet.slug, pk=pk)
    return FileResponse(content, as_attachment=True, filename=row.made)


def progress(row: WorkRow) -> dict:
    """Return what the script shows: open until ``over``, then it loads the page anew."""
    begun = row.state == WorkRow.State.RUNNING
    return {
        "over": not row.is_open,
        "begun": begun,
        "steps": row.steps,
        "done": row.steps_done,
        "step": row.step,
    }
