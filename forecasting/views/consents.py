"""Who of those that pay for boats has agreed to the coming year's budget."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member

from ..accounts.consents import ConsentForm, asked, first_year, of_others
from ..chart_titles import year_label
from ..models import BudgetFigure, PayConsent
from .accounts import may_write


@member()
def consents(request: HttpRequest) -> HttpResponse:
    fleet = request.fleet
    rows, year = asked(fleet), first_year(fleet)
    context = {
        "rows": rows,
        "given": sum(row.state == "given" for row in rows),
        "total": sum(row.figure.mean_minor for row in rows),
        "label": year_label(year, fleet) if year else "",
        "may_write": may_write(request),
    }
    return render(request, "forecasting/accounts/consents.html", context)


@member()
def consent(request: HttpRequest, pk: int) -> HttpResponse:
    """Put on record what was asked of who pays for a boat, and what they answered."""
    fleet, may = request.fleet, may_write(request)
    boat = get_object_or_404(fleet.boats, pk=pk)
    year = first_year(fleet)
    figure = BudgetFigure.objects.filter(boat=boat, year=year).first()
    if figure is None or not of_others(fleet).filter(pk=pk).exists():
        messages.info(request, f"{boat} is not paid for by others, or has no budget.")
        return redirect("consents", fleet=fleet.slug)
    row = PayConsent.objects.filter(boat=boat, year=year).first() or PayConsent(
        boat=boat, year=year, asked_of=boat.owner_name, amount_minor=figure.mean_minor,
        asked_on=fleet.today(),
    )  # fmt: skip
    form = ConsentForm(request.POST or None, instance=row, fleet=fleet)
    if request.method == "POST" and form.is_valid():
        row = form.save(commit=False)
        row.amount_minor, row.by = form.cleaned_data["amount"], request.user
        row.save()
        return redirect("consents", fleet=fleet.slug)
    context = {"boat": boat, "form": form, "figure": figure, "may_write": may,
               "label": year_label(year, fleet)}  # fmt: skip
    return render(request, "forecasting/accounts/consent.html", context)
