"""Papers about what is due and demanded: chase list, the year's page, the answer to a demand."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.text import slugify

from fleet.access import member
from inspections.calendar.months import CalendarForm
from inspections.due import due
from inspections.views.demands import demand_or_404

from ..papers.chase_list import chase_list
from ..papers.reply_pack import TooLong, reply_pack, reply_zip
from ..papers.season_page import season_page
from .papers import PDF, of_fleet

ZIP = "application/zip"


@member()
def chase_list_pdf(request: HttpRequest) -> HttpResponse:
    """Of what the calendar shows, by its filter."""
    fleet = request.fleet
    form = CalendarForm(fleet, request.GET)
    content = chase_list(fleet, form.narrowed(due(fleet, fleet.today())))
    return of_fleet(content, PDF, fleet, "chase-list", "pdf")


@member()
def season_page_pdf(request: HttpRequest) -> HttpResponse:
    return of_fleet(season_page(request.fleet), PDF, request.fleet, "year", "pdf")


@member()
def demand_pack(request: HttpRequest, pk: int) -> HttpResponse:
    """The answer to a demand; with the forecast where the query says so."""
    return answered(request, pk, reply_pack, PDF, "pdf")


@member()
def demand_zip(request: HttpRequest, pk: int) -> HttpResponse:
    return answered(request, pk, reply_zip, ZIP, "zip")


def answered(request: HttpRequest, pk: int, make, kind: str, ending: str) -> HttpResponse:
    row = demand_or_404(request, pk)
    forecast = request.GET.get("forecast") == "1"
    try:
        content = make(row, forecast=forecast)
    except TooLong as trouble:
        messages.error(request, str(trouble))
        return redirect("demand", fleet=request.fleet.slug, pk=row.pk)
    # The two papers are told apart by name: a forecast goes to an insurer only on purpose.
    what = f"answer-{slugify(row.asker_name)[:40] or row.pk}{'-with-forecast' if forecast else ''}"
    return of_fleet(content, kind, request.fleet, what, ending)
