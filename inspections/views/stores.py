"""What lies in store at each base, and the small things to order."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.models import Base, Spare
from fleet.spreadsheets.csv_files import write_csv

from ..aftermath import consumables as counting
from ..aftermath import cut_sheet, store
from ..aftermath.forms import SpareForm, TakeForm, WithdrawForm
from ..followups import ConsumableOrder
from .imports import download
from .writing import may_write

CHANGES_SHOWN = 20
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
    """One part in store as its cut sheet has it; POST corrects it, takes it out or puts it back."""
    rows = Spare.objects.of(request.fleet).select_related("base", "fitted_as__stay__boat")
    row = get_object_or_404(rows, pk=pk)
    forms, step = forms_of(request, row), request.POST.get("step", "take")
    writes = may_write(request)
    if request.method == "POST" and writes and step in STEPS:
        done = stepped(request, row, step, forms.get(step))
        if done:
            return done
        row = rows.get(pk=pk)  # What the form could not save is not what is on record.
    context = {
        "spare": row,
        "sheet": cut_sheet.rows(row),
        "forms": forms,
        "may_write": writes,
        "changes": store.changes(row)[:CHANGES_SHOWN],
    }
    return render(request, "inspections/after/spare.html", context)


def forms_of(request: HttpRequest, row: Spare) -> dict[str, Form]:
    """Return the forms of a part in store by their step, the one that was sent with its data."""
    data = {request.POST.get("step", "take"): request.POST} if request.method == "POST" else {}
    return {
        "correct": SpareForm(request.fleet, data.get("correct"), instance=row, prefix="part"),
        "take": TakeForm(data.get("take"), initial={"by": name_of(request)}),
        "withdraw": WithdrawForm(data.get("withdraw"), prefix="out"),
    }


def name_of(request: HttpRequest) -> str:
    return request.user.get_full_name() or request.user.get_username()


def stepped(request: HttpRequest, row: Spare, step: str, form: Form | None) -> HttpResponse | None:
    """Do what was asked for with a part in store; None where it is refused, with the fault told."""
    if form is not None and not form.is_valid():
        return None
    try:
        STEPS[step](request, row, form.cleaned_data if form else {})
    except ValidationError as fault:
        row.refresh_from_db()
        if form is None or row.taken_on:  # The page of a part that is out has no such form.
            messages.error(request, " ".join(fault.messages))
        else:
            form.add_error(None, fault.messages)
        return None
    return redirect("spare" if step == "correct" else "spares", **where(request, row, step))


def where(request: HttpRequest, row: Spare, step: str) -> dict:
    return {"fleet": request.fleet.slug} | ({"pk": row.pk} if step == "correct" else {})


def corrected(request: HttpRequest, row: Spare, given: dict) -> None:
    made = store.correct(row, given, request.user)
    messages.success(request, f"Corrected: {made}.")


def taken(request: HttpRequest, row: Spare, given: dict) -> None:
    store.take(row, request.fleet.today(), **given)
    messages.success(request, f"Taken out of store: {row}.")


def withdrawn(request: HttpRequest, row: Spare, given: dict) -> None:
    store.withdraw(row, request.fleet.today(), name_of(request), given["why"], request.user)
    messages.success(request, f"Withdrawn: {row}.")


def put_back(request: HttpRequest, row: Spare, given: dict) -> None:
    store.put_back(row, request.user)
    messages.success(request, "Back in store.")


STEPS = {"correct": corrected, "take": taken, "withdraw": withdrawn, "put_back": put_back}


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
