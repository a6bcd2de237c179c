"""Reports of surveyors and riggers, and what becomes of each recommendation."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify

from fleet.access import member

from ..aftermath import advice, report_files
from ..aftermath.report_forms import CloseForm, RecommendationForm, ReportForm
from ..followups import Recommendation, Report
from .entry import boat_or_404
from .writing import may_write


@member()
def reports(request: HttpRequest, pk: int) -> HttpResponse:
    """The reports of one boat; POST attaches another."""
    boat = boat_or_404(request, pk)
    writes = may_write(request)
    form = ReportForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and writes and form.is_valid():
        try:
            made = advice.attach(boat, user=request.user, **form.cleaned_data)
            messages.success(request, "Attached. Now enter each of its recommendations.")
            return redirect("report", fleet=request.fleet.slug, pk=made.pk)
        except ValidationError as fault:
            form.add_error("file", fault)
    rows = boat.reports.prefetch_related("recommendations")
    context = {"boat": boat, "form": form, "reports": rows, "may_write": writes,
               "today": request.fleet.today()}  # fmt: skip
    return render(request, "inspections/after/reports.html", context)


def report_or_404(request: HttpRequest, pk: int) -> Report:
    rows = Report.objects.of(request.fleet).select_related("boat__fleet")
    return get_object_or_404(rows, pk=pk)


@member()
def report(request: HttpRequest, pk: int) -> HttpResponse:
    """One report with its recommendations; POST adds one."""
    row = report_or_404(request, pk)
    writes = may_write(request)
    if request.method == "POST" and writes and request.POST.get("step") == "detach":
        return detached(request, row)
    form = RecommendationForm(row, request.POST or None)
    if request.method == "POST" and writes and form.is_valid():
        try:
            advice.recommend(row, **form.facts())
            messages.success(request, "The recommendation is on record, open.")
            return redirect("report", fleet=request.fleet.slug, pk=row.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {
        "report": row,
        "boat": row.boat,
        "form": form,
        "rows": row.recommendations.select_related("installation__stay"),
        "no_verdict": advice.NO_VERDICT,
        "may_write": writes,
    }
    return render(request, "inspections/after/report.html", context)


def detached(request: HttpRequest, row: Report) -> HttpResponse:
    try:
        advice.detach(row)
    except ValidationError as fault:
        messages.error(request, "Not taken off. " + " ".join(fault.messages))
        return redirect("report", fleet=request.fleet.slug, pk=row.pk)
    messages.success(request, "The report is off the record, and its file is gone.")
    return redirect("reports", fleet=request.fleet.slug, pk=row.boat_id)


@member()
def report_file(request: HttpRequest, pk: int) -> FileResponse:
    """The PDF as it came in, as a download."""
    row = report_or_404(request, pk)
    path = report_files.path_of(row)
    if not path.is_file():
        raise Http404("The file is not on this machine any more.")
    name = f"{slugify(row.boat.name) or row.boat_id}-{slugify(row.author)}-{row.on}.pdf"
    response = FileResponse(
        path.open("rb"), as_attachment=True, filename=name, content_type="application/pdf"
    )
    response["Cache-Control"] = "private, no-store"
    return response


@member()
def recommendations(request: HttpRequest) -> HttpResponse:
    """Everything recommended and still open in the fleet, overdue first."""
    rows = Recommendation.objects.of(request.fleet).open()
    rows = rows.select_related("report__boat", "installation__stay")
    today = request.fleet.today()
    context = {
        "rows": rows,
        "overdue": rows.overdue(today).count(),
        "closed": Recommendation.objects.of(request.fleet)
        .exclude(state=Recommendation.State.OPEN)
        .select_related("report__boat", "installation__stay")
        .order_by("-closed_on", "-pk")[:25],
        "no_verdict": advice.NO_VERDICT,
    }
    return render(request, "inspections/after/recommendations.html", context)


@member()
def recommendation(request: HttpRequest, pk: int) -> HttpResponse:
    """One recommendation; POST closes it, or opens it again."""
    rows = Recommendation.objects.of(request.fleet)
    related = ("report__boat__fleet", "installation__stay", "inspection", "renewal__stay")
    row = get_object_or_404(rows.select_related(*related), pk=pk)
    writes = may_write(request)
    here = redirect("recommendation", fleet=request.fleet.slug, pk=row.pk)
    if request.method == "POST" and writes and request.POST.get("step") == "reopen":
        advice.reopen(row)
        messages.success(request, "Open again.")
        return here
    usual = {"on": request.fleet.today(), "by": request.user.get_full_name()}
    form = CloseForm(row, request.POST or None, initial=usual)
    if request.method == "POST" and writes and form.is_valid():
        try:
            advice.close(row, form.closing())
            messages.success(request, "Closed, with what it rests on.")
            return here
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {"row": row, "boat": row.report.boat, "form": form, "may_write": writes,
               "no_verdict": advice.NO_VERDICT}  # fmt: skip
    return render(request, "inspections/after/recommendation.html", context)
