"""What phones sent: all of it, and one that a person has to decide on."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Case, IntegerField, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django_tables2 import RequestConfig

from fleet.access import member

from ..dock import deciding
from ..dock.draft import Refused, read_draft
from ..dock.sent_tables import UploadTable, look_words
from ..dock.side_by_side import Compared, beside
from ..models import DockUpload
from .looks import WRITERS

State = DockUpload.State
WAITS = Case(
    When(state=State.CONFLICT, then=Value(0)),
    When(state=State.RECEIVED, then=Value(1)),
    default=Value(2),
    output_field=IntegerField(),
)


@member()
def uploads(request: HttpRequest) -> HttpResponse:
    """Answer whether all that was written on the dock is on record."""
    rows = DockUpload.objects.of(request.fleet).select_related("boat").annotate(waits=WAITS)
    table = UploadTable(rows, fleet=request.fleet)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    context = {
        "table": table,
        "to_decide": rows.to_decide().count(),
        "faulty": rows.filter(state=State.RECEIVED).count(),
        "any": rows.exists(),
    }
    return render(request, "inspections/sent/uploads.html", context)


@member()
def upload(request: HttpRequest, pk) -> HttpResponse:
    """Show what was sent beside what is on record; a POST decides."""
    rows = DockUpload.objects.of(request.fleet).select_related("boat", "by", "decided_by")
    row = get_object_or_404(rows, pk=pk)
    faults: list[str] = []
    if request.method == "POST" and request.role in WRITERS:
        try:
            return decided(request, row)
        except ValidationError as fault:
            faults = fault.messages
    context = {
        "row": row,
        "look": look_words(row.payload),
        "faults": faults,
        "compared": compared(row),
        "may_decide": request.role in WRITERS and row.state == State.CONFLICT,
        "why": request.POST.get("why", ""),
    }
    return render(request, "inspections/sent/upload.html", context)


def decided(request: HttpRequest, row: DockUpload) -> HttpResponse:
    if "record" in request.POST:
        look = deciding.record_as_well(row, request.user, timezone.now())
        messages.success(request, "On record beside the other look. The boat is judged by both.")
        return redirect("inspection", fleet=request.fleet.slug, pk=look.pk)
    deciding.set_aside(row, request.user, request.POST.get("why", ""), timezone.now())
    messages.success(request, "Set aside. It stays readable here and counts for nothing.")
    return redirect("dock_upload", fleet=request.fleet.slug, pk=row.pk)


def compared(row: DockUpload) -> Compared | None:
    """Return the looks side by side; nothing of a draft that cannot be read."""
    try:
        return beside(read_draft(row.payload), row)
    except Refused:
        return None
