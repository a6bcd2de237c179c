"""What others demand of boats: list, entry, answer, acceptance."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member

from ..demands import evidence, keeping
from ..demands.forms import ClosedForm, DemandForm, SentForm
from ..models import Demand
from .looks import WRITERS
from .writing import may_write

A_PAGE = 25
SAYS = {
    "sent": "On record: the answer is out. It stays due until they accept it.",
    "closed": "On record. It is due no more.",
    "reopen": "Open again; what was on record stays among the changes.",
}


@member()
def demands(request: HttpRequest) -> HttpResponse:
    """What waits, by deadline, with how many boats satisfy it; what is closed below."""
    rows = Demand.objects.of(request.fleet)
    waiting = rows.waiting().prefetch_related("boats")
    page = Paginator(waiting, A_PAGE).get_page(request.GET.get("page"))
    answers = evidence.of_demands(page)
    for row in page:
        row.done = sum(each.satisfied for each in answers[row.pk].values())
    closed = rows.exclude(pk__in=rows.waiting().values("pk")).order_by("-closed_on", "-pk")
    context = {
        "page": page,
        "waiting": page.paginator.count,
        "late": rows.waiting().filter(deadline__lt=request.fleet.today()).count(),
        "closed": closed.prefetch_related("boats")[:A_PAGE],
        "may_write": may_write(request),
    }
    return render(request, "inspections/demands/demands.html", context)


@member(*WRITERS)
def demand_add(request: HttpRequest) -> HttpResponse:
    fleet = request.fleet
    form = DemandForm(fleet, request.POST or None, initial={"asked_on": fleet.today()})
    if request.method == "POST" and form.is_valid():
        try:
            boats = form.cleaned_data["boats"]
            row = keeping.add(fleet, boats, request.user, **form.facts())
            messages.success(request, f"On record: due on {len(boats)} boats by its deadline.")
            return redirect("demand", fleet=fleet.slug, pk=row.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    return render(request, "inspections/demands/form.html", {"form": form})


def demand_or_404(request: HttpRequest, pk: int) -> Demand:
    rows = Demand.objects.of(request.fleet).select_related("fleet", "by")
    return get_object_or_404(rows.prefetch_related("boats__base"), pk=pk)


@member(*WRITERS)
def demand_edit(request: HttpRequest, pk: int) -> HttpResponse:
    row = demand_or_404(request, pk)
    form = DemandForm(request.fleet, request.POST or None, instance=row)
    if request.method == "POST" and form.is_valid():
        try:
            boats = form.cleaned_data["boats"]
            kept = keeping.change(row, boats, request.user, **form.facts())
            messages.success(request, f"{kept.what}." if kept else "Nothing was changed.")
            return redirect("demand", fleet=request.fleet.slug, pk=row.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    return render(request, "inspections/demands/form.html", {"form": form, "demand": row})


@member()
def demand(request: HttpRequest, pk: int) -> HttpResponse:
    """One demand with how each boat stands; POST puts its answer or acceptance on record."""
    row, step = demand_or_404(request, pk), request.POST.get("step", "")
    writes = may_write(request)
    usual = {"on": request.fleet.today()}
    forms = {
        "sent": SentForm(request.POST if step == "sent" else None, prefix="sent",
                         initial=usual | {"by": request.user.get_full_name()}),
        "closed": ClosedForm(request.POST if step == "closed" else None, prefix="closed",
                             initial=usual),
    }  # fmt: skip
    if request.method == "POST" and writes and stepped(request, row, step, forms):
        return redirect("demand", fleet=request.fleet.slug, pk=row.pk)
    answers = evidence.of_demand(row)
    context = {
        "demand": row,
        "answers": answers,
        "done": sum(answer.satisfied for _, answer in answers),
        "sent_form": forms["sent"],
        "closed_form": forms["closed"],
        "changes": row.changes.select_related("by"),
        "may_write": writes,
    }
    return render(request, "inspections/demands/demand.html", context)


def stepped(request: HttpRequest, row: Demand, step: str, forms: dict) -> bool:
    """Put a step on record; False, with the fault in its form, where it is refused."""
    form = forms.get(step)
    if form and not form.is_valid():
        return False
    try:
        if step == "sent":
            keeping.sent(row, **form.cleaned_data, user=request.user)
        elif step == "closed":
            keeping.closed(row, **form.cleaned_data, user=request.user)
        elif step == "reopen":
            keeping.reopen(row, request.user)
        messages.success(request, SAYS.get(step, "Nothing was asked for."))
        return True
    except ValidationError as fault:
        if form is None:
            messages.error(request, " ".join(fault.messages))
            return True
        form.add_error(None, fault)
        return False
