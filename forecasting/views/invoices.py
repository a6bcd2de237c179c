"""What rigging really cost: invoices, shared out to their parts; the audit's question."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import Installation

from ..accounts import audit as audits
from ..accounts import invoicing, progress, register, years
from ..accounts.book_forms import InvoiceForm, OrderChoice
from ..chart_titles import year_label
from ..models import Invoice, WorkOrder
from ..papers.actuals_sheet import audit_csv_rows, invoices_csv_rows
from .accounts import KEEPERS, may_write, name_of
from .papers import CSV, of_fleet

A_PAGE = 50


@member()
def invoices(request: HttpRequest) -> HttpResponse:
    """Show the invoices, and at which year end what of them was work in progress."""
    fleet, year = request.fleet, years.chosen(request.fleet, request.GET.get("year"))
    first, after = years.bounds(fleet, year)
    every = Invoice.objects.of(fleet)
    rows = every.standing().select_related("boat__base", "work_order")
    rows = rows.annotate(parts=Count("shares")).order_by("-on", "-pk")
    waiting = progress.in_progress(fleet, min(register.day_before(after), fleet.today()))
    in_year = list(rows.filter(on__gte=first, on__lt=after))
    context = {
        "page": Paginator(in_year, A_PAGE).get_page(request.GET.get("page")),
        "count": len(in_year),
        "total": sum(each.cost_minor for each in in_year),
        "waiting": waiting,
        "in_progress": sum(row.waiting for row in waiting),
        "last_day": register.day_before(after),
        "under_way": after > fleet.today(),
        "year": year,
        "label": year_label(year, fleet),
        "years": year_choices(fleet),
        "may_write": may_write(request),
        "any": every.exists(),
        "withdrawn": every.filter(withdrawn_on__isnull=False).select_related("boat"),
    }
    return render(request, "forecasting/accounts/invoices.html", context)


def year_choices(fleet) -> list[tuple[int, str]]:
    now = years.year_of(fleet, fleet.today())
    return [(year, year_label(year, fleet)) for year in range(now, now - 10, -1)]


@member()
def invoice_add(request: HttpRequest) -> HttpResponse:
    """Take an invoice and share it to the parts that name it, or were fitted around its day."""
    fleet, may = request.fleet, may_write(request)
    form = InvoiceForm(request.POST or None, fleet=fleet, initial=_for_what(request))
    if request.method == "POST" and form.is_valid():
        entered = form.entered()
        entered.by = request.user
        parts = list(invoicing.parts_for(entered))
        invoicing.record(entered, parts)
        said = f"shared out to {len(parts)} parts" if parts else "it waits for its parts"
        messages.success(request, f"Invoice {entered.number} is on record; {said}.")
        return redirect("invoice", fleet=fleet.slug, pk=entered.pk)
    context = {"form": form, "may_write": may}
    return render(request, "forecasting/accounts/invoice_add.html", context)


def _for_what(request: HttpRequest) -> dict:
    """Return boat and work order of an address, to begin the form with."""
    asked = request.GET.get("order", "")
    orders = WorkOrder.objects.of(request.fleet).open().select_related("boat")
    order = orders.filter(pk=asked).first() if asked.isdecimal() else None
    if order is None:
        return {"boat": request.GET.get("boat")}
    return {"boat": order.boat, "work_order": order, "supplier": order.given_to}


@member()
def invoice(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an invoice and its shares; share it anew among the parts ticked."""
    fleet, may = request.fleet, may_write(request)
    found = of(request, pk)
    own = Installation.objects.filter(invoice_shares__invoice=found).select_related("stay")
    offered = list(dict.fromkeys([*own, *invoicing.parts_for(found)]))
    offered = [] if found.withdrawn_on else offered
    if request.method == "POST" and not found.withdrawn_on:
        ticked = set(request.POST.getlist("part"))
        parts = [part for part in offered if str(part.pk) in ticked]
        invoicing.share_out(found, parts)
        messages.success(request, f"Shared out to {len(parts)} parts.")
        return redirect("invoice", fleet=fleet.slug, pk=pk)
    amounts = {share.installation_id: share.cost_minor for share in found.shares.all()}
    rows = [(part, amounts.get(part.pk)) for part in offered]
    orders = OrderChoice(fleet).queryset.filter(boat=found.boat)
    context = {"invoice": found, "rows": rows, "shared": sum(amounts.values()), "may_write": may,
               "orders": orders}  # fmt: skip
    return render(request, "forecasting/accounts/invoice.html", context)


def of(request: HttpRequest, pk: int) -> Invoice:
    rows = Invoice.objects.of(request.fleet).select_related("boat", "work_order__boat")
    return get_object_or_404(rows, pk=pk)


@member(*KEEPERS)
@require_POST
def invoice_order(request: HttpRequest, pk: int) -> HttpResponse:
    """Say which work order of its boat an invoice is for, or that it is for none."""
    found, asked = of(request, pk), request.POST.get("work_order", "")
    orders = WorkOrder.objects.of(request.fleet).open().filter(boat=found.boat)
    orders = orders.none() if found.withdrawn_on else orders
    order = get_object_or_404(orders, pk=int(asked)) if asked.isdecimal() else None
    if found.work_order and found.work_order.state == WorkOrder.State.CLOSED:
        messages.error(request, f"Order {found.work_order} is closed: take that step back first.")
    else:
        invoicing.name_order(found, order)
        messages.success(request, f"For work order {order}." if order else "For no work order.")
    return redirect("invoice", fleet=request.fleet.slug, pk=pk)


@member(*KEEPERS)
@require_POST
def invoice_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Withdraw an invoice that was entered wrongly, with why."""
    found = of(request, pk)
    try:
        why = request.POST.get("why", "")[:300]
        invoicing.withdraw(found, request.fleet.today(), name_of(request.user), why)
        messages.success(request, f"Invoice {found.number} is withdrawn and counts nowhere.")
    except ValueError as fault:
        messages.error(request, str(fault))
    return redirect("invoice", fleet=request.fleet.slug, pk=pk)


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
