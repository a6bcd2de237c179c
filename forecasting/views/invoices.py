"""What rigging really cost: invoices, shared out to their parts; the audit's question."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.models import Installation

from ..accounts import audit as audits
from ..accounts import invoicing, register, years
from ..accounts.book_forms import InvoiceForm
from ..chart_titles import year_label
from ..models import Invoice
from ..papers.actuals_sheet import audit_csv_rows, invoices_csv_rows
from .accounts import may_write
from .papers import CSV, of_fleet

A_PAGE = 50


@member()
def invoices(request: HttpRequest) -> HttpResponse:
    """Show the invoices, and at which year end what of them was work in progress."""
    fleet, year = request.fleet, years.chosen(request.fleet, request.GET.get("year"))
    first, after = years.bounds(fleet, year)
    rows = Invoice.objects.of(fleet).select_related("boat__base").annotate(parts=Count("shares"))
    rows = rows.order_by("-on", "-pk")
    waiting = register.in_progress(fleet, min(register.day_before(after), fleet.today()))
    in_year = list(rows.filter(on__gte=first, on__lt=after))
    context = {
        "page": Paginator(in_year, A_PAGE).get_page(request.GET.get("page")),
        "count": len(in_year),
        "total": sum(each.cost_minor for each in in_year),
        "waiting": waiting,
        "in_progress": sum(row["waiting"] for row in waiting),
        "last_day": register.day_before(after),
        "under_way": after > fleet.today(),
        "year": year,
        "label": year_label(year, fleet),
        "years": year_choices(fleet),
        "may_write": may_write(request),
        "any": Invoice.objects.of(fleet).exists(),
    }
    return render(request, "forecasting/accounts/invoices.html", context)


def year_choices(fleet) -> list[tuple[int, str]]:
    now = years.year_of(fleet, fleet.today())
    return [(year, year_label(year, fleet)) for year in range(now, now - 10, -1)]


@member()
def invoice_add(request: HttpRequest) -> HttpResponse:
    """Take an invoice and share it to the parts that name it, or were fitted around its day."""
    fleet, may = request.fleet, may_write(request)
    form = InvoiceForm(request.POST or None, fleet=fleet, initial={"boat": request.GET.get("boat")})
    if request.method == "POST" and form.is_valid():
        entered = form.entered()
        entered.by = request.user
        parts = list(invoicing.parts_of(entered.boat, entered.number, entered.on))
        invoicing.record(entered, parts)
        said = f"shared out to {len(parts)} parts" if parts else "it waits for its parts"
        messages.success(request, f"Invoice {entered.number} is on record; {said}.")
        return redirect("invoice", fleet=fleet.slug, pk=entered.pk)
    context = {"form": form, "may_write": may}
    return render(request, "forecasting/accounts/invoice_add.html", context)


@member()
def invoice(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an invoice and its shares; share it anew among the parts ticked."""
    fleet, may = request.fleet, may_write(request)
    found = get_object_or_404(Invoice.objects.of(fleet).select_related("boat"), pk=pk)
    own = Installation.objects.filter(invoice_shares__invoice=found).select_related("stay")
    offered = [*own, *invoicing.parts_of(found.boat, found.number, found.on)]
    if request.method == "POST":
        ticked = set(request.POST.getlist("part"))
        parts = [part for part in offered if str(part.pk) in ticked]
        invoicing.share_out(found, parts)
        messages.success(request, f"Shared out to {len(parts)} parts.")
        return redirect("invoice", fleet=fleet.slug, pk=pk)
    amounts = {share.installation_id: share.cost_minor for share in found.shares.all()}
    rows = [(part, amounts.get(part.pk)) for part in offered]
    context = {"invoice": found, "rows": rows, "shared": sum(amounts.values()), "may_write": may}
    return render(request, "forecasting/accounts/invoice.html", context)


@member()
def invoices_csv(request: HttpRequest) -> HttpResponse:
    year = years.chosen(request.fleet, request.GET.get("year"))
    content = invoices_csv_rows(request.fleet, year)
    return of_fleet(content, CSV, request.fleet, f"invoices-{year}", "csv")


@member()
def audit(request: HttpRequest) -> HttpResponse:
    """Show a line a renewal of the year, from what was found to who released the boat."""
    fleet, year = request.fleet, years.chosen(request.fleet, request.GET.get("year"))
    lines = audits.lines(fleet, *years.bounds(fleet, year))
    context = {
        "page": Paginator(lines, A_PAGE).get_page(request.GET.get("page")),
        "count": len(lines),
        "whole": sum(1 for line in lines if line.whole),
        "year": year,
        "label": year_label(year, fleet),
        "years": year_choices(fleet),
    }
    return render(request, "forecasting/accounts/audit.html", context)


@member()
def audit_csv(request: HttpRequest) -> HttpResponse:
    fleet, year = request.fleet, years.chosen(request.fleet, request.GET.get("year"))
    lines = audits.lines(fleet, *years.bounds(fleet, year))
    return of_fleet(audit_csv_rows(fleet, lines), CSV, fleet, f"audit-{year}", "csv")
