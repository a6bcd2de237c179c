"""One line of a work order: the part renewed, or why not."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member

from ..models import WorkOrderLine
from ..orders import ticking
from ..orders.forms import LineForm, LinkForm, SetUpForm
from .accounts import name_of
from .orders import TICKERS


def line_of(request: HttpRequest, pk: int) -> WorkOrderLine:
    lines = WorkOrderLine.objects.of(request.fleet).select_related(
        "order__boat", "order__fleet", "installation__stay__boat__fleet", "look"
    )
    return get_object_or_404(lines, pk=pk)


@member(*TICKERS)
def order_line(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask how the line was done, and put the renewal on record by it."""
    line = line_of(request, pk)
    new = ticking.successor(line)
    form = form_of(line, new, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            tick(line, new, form, request.user)
            messages.success(request, f"{line.what}: done, and on record.")
            return redirect("order", fleet=request.fleet.slug, pk=line.order_id)
        except ValidationError as fault:
            form.add_error(None, fault.messages)
    context = {"line": line, "order": line.order, "form": form, "new": new,
               "open": line.done_on is None and line.order.state in ticking.OPEN}  # fmt: skip
    return render(request, "forecasting/orders/line.html", context)


def form_of(line: WorkOrderLine, new, data):  # noqa: ANN201 one of three forms
    """Return the form for what the line is: the mast, a part, one renewed elsewhere."""
    if line.installation is None:
        start = {"done_on": line.order.fleet.today(), "who": line.order.given_to}
        return SetUpForm(data, initial=start)
    return LinkForm(data) if new else LineForm(data, line=line)


def tick(line: WorkOrderLine, new, form, user) -> None:
    who = {"by": user, "by_name": name_of(user)}
    given = form.cleaned_data
    if line.installation is None:
        ticking.done(line, given["done_on"], given["who"], given["released_by"], **who)
    elif new:
        ticking.link(line, given["released_by"], **who)
    else:
        ticking.renew(line, form, given["released_by"], **who)


@member(*TICKERS)
@require_POST
def line_not_done(request: HttpRequest, pk: int) -> HttpResponse:
    line = line_of(request, pk)
    try:
        ticking.not_done(line, request.POST.get("why", "")[:300], request.user)
        messages.success(request, f"{line.what}: not done, with why.")
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
    return redirect("order", fleet=request.fleet.slug, pk=line.order_id)
