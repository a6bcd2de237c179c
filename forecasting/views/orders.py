"""Work orders: the list, one drawn up, one with its steps, its papers."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import Boat, Membership

from ..models import SupplierOrder, WorkOrder
from ..orders import drawing_up, reading, sources, steps
from ..orders.forms import GiveForm, SupplyForm
from ..papers.order_paper import order_paper
from ..papers.orders_sheet import orders_rows_csv, orders_workbook
from .accounts import KEEPERS, name_of
from .papers import CSV, PDF, XLSX, of_fleet

MANAGER = Membership.Role.MANAGER
TICKERS = (MANAGER, Membership.Role.BOSUN)
A_PAGE = 50


@member()
def orders(request: HttpRequest) -> HttpResponse:
    """List the orders, those of one state or boat where asked, the newest first."""
    fleet, state = request.fleet, request.GET.get("state", "")
    found = reading.orders(fleet)
    everything = list(found.values_list("state", flat=True))
    if state in WorkOrder.State.values:
        found = found.filter(state=state)
    elif state != "all":
        found, state = found.exclude(state__in=("closed", "withdrawn")), ""
    rows = reading.rows(found, fleet.today())
    context = {
        "page": Paginator(rows, A_PAGE).get_page(request.GET.get("page")),
        "any": bool(everything),
        "count": len(rows),
        "late": sum(row.late for row in rows),
        "ordered": sum(row.ordered for row in rows),
        "invoiced": sum(row.invoiced or 0 for row in rows),
        "missing": reading.missing_numbers(fleet),
        "state": state,
        "states": WorkOrder.State.choices,
        "may_draw_up": request.role == MANAGER,
    }
    return render(request, "forecasting/orders/orders.html", context)


@member(MANAGER)
def orders_new(request: HttpRequest) -> HttpResponse:
    """Show what can be ordered of a list or plan, boat by boat; draw up what is ticked."""
    fleet = request.fleet
    source = sources.chosen(fleet, request.GET.get("from"))
    asked = request.GET.get("boat", "")
    boat = Boat.objects.of(fleet).filter(pk=asked).first() if asked.isdecimal() else None
    offers = sources.offers(fleet, source, boat.pk if boat else None)
    if request.method == "POST":
        made = _draw_up(request, source, offers)
        if len(made) == 1:
            return redirect("order", fleet=fleet.slug, pk=made[0].pk)
        if made:
            return redirect("orders", fleet=fleet.slug)
    free = Paginator([offer for offer in offers if offer.jobs], A_PAGE)
    page = free.get_page(request.GET.get("page"))
    context = {
        "source": source,
        "sources": sources.sources(fleet),
        "boat": boat,
        "page": page,
        "offers": page.object_list,
        "ordered": [offer for offer in offers if offer.ordered],
    }
    return render(request, "forecasting/orders/new.html", context)


def _draw_up(
    request: HttpRequest, source: sources.Source, offers: list[sources.Offer]
) -> list[WorkOrder]:
    """Draw up an order for each boat with something ticked; say what could not be."""
    ticked, made = set(request.POST.getlist("job")), []
    for offer in offers:
        jobs = [job for job in offer.jobs if f"{offer.boat.pk}-{job.key}" in ticked]
        if not jobs:
            continue
        try:
            made.append(drawing_up.draw_up(
                offer.boat, jobs, season=source.season, source=source.words,
                on=request.fleet.today(), by=request.user, by_name=name_of(request.user),
            ))  # fmt: skip
        except ValidationError as fault:
            messages.error(request, " ".join(fault.messages))
    numbers = ", ".join(order.label for order in made)
    said = f"Drawn up: {numbers}." if made else "Nothing was drawn up: tick what is to be done."
    (messages.success if made else messages.error)(request, said)
    return made


def of(request: HttpRequest, pk: int) -> WorkOrder:
    return get_object_or_404(reading.orders(request.fleet), pk=pk)


@member()
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one order: its lines, its steps, what was ordered for it, what it cost."""
    found = of(request, pk)
    (row,) = reading.rows([found], request.fleet.today())
    lines = found.lines.select_related("installation__stay", "renewed", "look")
    return render(request, "forecasting/orders/order.html", shown(request, found) | {
        "row": row,
        "lines": lines.order_by("pk"),
        "supplies": found.supplies.all(),
        "invoices": found.invoices.all(),
        "steps": found.steps.all(),
    })  # fmt: skip


def shown(request: HttpRequest, found: WorkOrder) -> dict:
    """Return the forms of an order, and who may do what next."""
    manages, nexts = request.role == MANAGER, steps.NEXT[found.state]
    open_now = bool(nexts)
    return {
        "order": found,
        "give": GiveForm(instance=found, fleet=request.fleet) if manages and "given" in nexts
        else None,
        "may_begin": request.role in TICKERS and "under_way" in nexts,
        "may_finish": request.role in TICKERS and "done" in nexts,
        "may_close": manages and "closed" in nexts,
        "may_withdraw": manages and "withdrawn" in nexts,
        "may_take_back": manages and found.state != "drawn_up",
        "may_tick": request.role in TICKERS and found.state in ("given", "under_way"),
        "supply": SupplyForm(fleet=request.fleet) if request.role in TICKERS and open_now else None,
        "may_invoice": request.role in KEEPERS and found.state not in ("withdrawn", "closed"),
    }  # fmt: skip


@member(MANAGER)
@require_POST
def order_give(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the order out, or anew to somebody else or for another date."""
    found, fleet = of(request, pk), request.fleet
    form = GiveForm(request.POST, instance=of(request, pk), fleet=fleet)
    if form.is_valid():
        _said(request, f"Given to {form.cleaned_data['given_to']}.",
              lambda: steps.give(found, form.plan(), fleet.today(), request.user,
                                 name_of(request.user)))  # fmt: skip
    else:
        _faults(request, form)
    return redirect("order", fleet=fleet.slug, pk=pk)


@member(*TICKERS)
@require_POST
def order_step(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the order a step on, or the last step back; a bosun begins and ends the work."""
    found, to, words = of(request, pk), request.POST.get("to", ""), request.POST.get("words", "")
    if request.role != MANAGER and to not in steps.BY_BOSUN:
        raise PermissionDenied("A manager does this.")
    who = {"by": request.user, "by_name": name_of(request.user)}
    today = request.fleet.today()
    if to == "back":
        _said(request, "The last step is taken back.",
              lambda: steps.take_back(found, today, why=words[:300], **who))  # fmt: skip
    elif to in steps.NEXT[found.state] and to != "given":
        _said(request, f"Order {found}: {WorkOrder.State(to).label}.",
              lambda: steps.take(found, to, today, words=words[:300], **who))  # fmt: skip
    else:
        messages.error(request, f"Order {found} is {found.get_state_display()}: not from there.")
    return redirect("order", fleet=request.fleet.slug, pk=pk)


def _said(request: HttpRequest, done: str, act) -> None:
    """Do it and say so, or say why it could not be done."""
    try:
        act()
        messages.success(request, done)
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))


def _faults(request: HttpRequest, form) -> None:
    for name, faults in form.errors.items():
        label = form.fields[name].label if name in form.fields else ""
        messages.error(request, f"{label or name.capitalize()}: {' '.join(faults)}")


@member(*TICKERS)
@require_POST
def order_supply(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a supplier's order for the work on record."""
    found = of(request, pk)
    form = SupplyForm(request.POST, fleet=request.fleet)
    if not steps.NEXT[found.state]:
        messages.error(request, f"Order {found} is {found.get_state_display()}.")
    elif form.is_valid():
        form.instance.order, form.instance.by = found, request.user
        form.save()
        messages.success(request, f"Order {form.instance.number} is on record.")
    else:
        _faults(request, form)
    return redirect("order", fleet=request.fleet.slug, pk=pk)


@member(*TICKERS)
@require_POST
def supply_strike(request: HttpRequest, pk: int) -> HttpResponse:
    """Strike a supplier's order out, with why; it stays readable."""
    supply = get_object_or_404(SupplierOrder.objects.of(request.fleet), pk=pk)
    why = request.POST.get("why", "").strip()[:200]
    if why and not supply.struck:
        supply.struck = why
        supply.save(update_fields=["struck"])
        messages.success(request, f"{supply.number} is struck out.")
    else:
        messages.error(request, "Say why it is struck out.")
    return redirect("order", fleet=request.fleet.slug, pk=supply.order_id)


@member()
def order_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    found = of(request, pk)
    content = order_paper(found)
    return of_fleet(content, PDF, request.fleet, f"work-order-{found.label}", "pdf")


@member()
def orders_xlsx(request: HttpRequest) -> HttpResponse:
    content = orders_workbook(request.fleet)
    return of_fleet(content, XLSX, request.fleet, "work-orders", "xlsx")


@member()
def orders_csv(request: HttpRequest) -> HttpResponse:
    content = orders_rows_csv(request.fleet)
    return of_fleet(content, CSV, request.fleet, "work-orders", "csv")
