"""What lies in store at each base, and the small things to order."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.models import Base, Spare
from fleet.spreadsheets.csv_files import write_csv

from ..aftermath import consumables as counting
from ..aftermath import cut_sheet, store
from ..aftermath.forms import SpareForm, TakeForm
from ..followups import ConsumableOrder
from .imports import download
from .writing import may_write

HEADERS = ("fleet", "as of", "base", "item", "pieces to order", "boats", "counted since")


@member()
def spares(request: HttpRequest) -> HttpResponse:
    """The parts in store, by base; POST puts one in."""
    writes = may_write(request)
    usual = {"stored_on": request.fleet.today()}
    form = SpareForm(request.fleet, request.POST or None, initial=usual)
    if request.method == "POST" and writes and form.is_valid():
        row = form.save(commit=False)
        row.by = request.user
        row.save()
        messages.success(request, f"In store at {row.base}: {row}.")
        return redirect("spares", fleet=request.fleet.slug)
    everything = Spare.objects.of(request.fleet).select_related("base", "fitted_as__stay__boat")
    context = {
        "rows": everything.in_store().order_by("base__name", "kind", "construction",
                                               "diameter_mm", "pk"),
        "taken": everything.filter(taken_on__isnull=False).order_by("-taken_on", "-pk")[:25],
        "form": form,
        "may_write": writes,
    }  # fmt: skip
    return render(request, "inspections/after/spares.html", context)


@member()
def spare(request: HttpRequest, pk: int) -> HttpResponse:
    """One part in store as its cut sheet has it; POST takes it out, or puts it back."""
    rows = Spare.objects.of(request.fleet).select_related("base", "fitted_as__stay__boat")
    row = get_object_or_404(rows, pk=pk)
    form = TakeForm(request.POST or None, initial={"by": request.user.get_full_name()})
    writes = may_write(request)
    if request.method == "POST" and writes:
        try:
            if request.POST.get("step") == "put_back":
                store.put_back(row)
                messages.success(request, "Back in store.")
                return redirect("spares", fleet=request.fleet.slug)
            if form.is_valid():
                store.take(row, request.fleet.today(), **form.cleaned_data)
                messages.success(request, f"Taken out of store: {row}.")
                return redirect("spares", fleet=request.fleet.slug)
        except ValidationError as fault:
            messages.error(request, " ".join(fault.messages))
    context = {"spare": row, "sheet": cut_sheet.rows(row), "form": form, "may_write": writes}
    return render(request, "inspections/after/spare.html", context)


@member()
def consumables(request: HttpRequest) -> HttpResponse:
    """What was found worn or missing, to order by base; POST notes that it was ordered."""
    today, writes = request.fleet.today(), may_write(request)
    if request.method == "POST" and writes:
        return ordered(request)
    orders = ConsumableOrder.objects.of(request.fleet).select_related("base", "by")
    context = {
        "needs": counting.needs(request.fleet, today),
        "orders": orders[:25],
        "may_write": writes,
    }
    return render(request, "inspections/after/consumables.html", context)


def ordered(request: HttpRequest) -> HttpResponse:
    """Note an order, or take the last one of an item back."""
    said, orders = request.POST, ConsumableOrder.objects.of(request.fleet)
    if said.get("order", "").isdecimal():
        get_object_or_404(orders, pk=said["order"]).delete()
        messages.success(request, "Taken back: it counts as not ordered.")
    elif said.get("base", "").isdecimal():
        base = get_object_or_404(Base.objects.of(request.fleet), pk=said["base"])
        try:
            made = counting.order(base, said.get("item", ""), request.fleet.today(), request.user)
            messages.success(request, f"Noted as ordered: {made}.")
        except ValidationError as fault:
            messages.error(request, " ".join(fault.messages))
    return redirect("consumables", fleet=request.fleet.slug)


@member()
def consumables_csv(request: HttpRequest) -> HttpResponse:
    """The same list as CSV."""
    fleet, today = request.fleet, request.fleet.today()
    rows = [
        (fleet.name, today, need.base.name, need.label, need.pieces, need.boats, need.since)
        for need in counting.needs(fleet, today)
    ]
    content = write_csv([HEADERS, *rows]).encode("utf-8-sig")
    return download(content, "text/csv; charset=utf-8", f"{fleet.slug}-to-order-{today}.csv")
